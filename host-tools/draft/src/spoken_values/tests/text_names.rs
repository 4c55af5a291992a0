//! Names in the text of overs.

use jumpseat_values::Span;
use proptest::prelude::*;

use super::{check, check_each};
use crate::heard::WrittenWord;

/// What is received, as text, and what must come of it: "sent received name".
const RECEIVED: &[(&str, &str)] = &[
    ("my name is tom", "- - Tom"),
    ("good morning the name here is alistair", "- - Alistair"),
    ("the name's bob and i'm near denver", "- - Bob"),
    ("my name's oleander how copy", "- - Oleander"),
    ("handle is stig over", "- - Stig"),
    ("handle here is wolfgang", "- - Wolfgang"),
    ("the op is marge", "- - Marge"),
    ("op here is tobias", "- - Tobias"),
    ("operator here is ed", "- - Ed"),
    ("operator's name is ignatz", "- - Ignatz"),
    ("first name is per", "- - Per"),
    ("my first name is siobhan", "- - Siobhan"),
    ("name on this end is uh henk", "- - Henk"),
    ("name over here is also mike", "- - Mike"),
    ("name again is tom tom", "- - Tom"),
    ("and here's my info name is gus", "- - Gus"),
    ("name here tom qth is boise", "- - Tom"),
    ("my name tom tango oscar mike", "- - Tom"),
    ("they call me skip in the club but call me jim", "- - Jim"),
    ("i go by the name of chuck", "- - Chuck"),
    ("this is tom in flagstaff", "- - Tom"),
    ("this is lou up in the hills", "- - Lou"),
    ("it's martha here good evening", "- - Martha"),
    ("pete is the name", "- - Pete"),
    ("zeb's the name out here", "- - Zeb"),
    ("torvald is my name", "- - Torvald"),
    ("name is will will is the name", "- - Will"),
    ("the name is mark by the way", "- - Mark"),
    ("good evening pete lou here", "- - Lou"),
    // Spelled.
    ("name is alistair a l i s t a i r", "- - Alistair"),
    (
        "my name is alister that's spelled a l i s t a i r",
        "- - Alistair",
    ),
    ("name here is shawn s e a n", "- - Sean"),
    ("name is steven s t e p h e n", "- - Stephen"),
    ("name is ole oscar lima echo", "- - Ole"),
    ("name is al alpha lima", "- - Al"),
    (
        "my name is tom t as in tango o as in oscar m as in mike",
        "- - Tom",
    ),
    ("name is phillip p h i double l i p", "- - Phillip"),
    ("name is mike india kilo echo over", "- - Mike"),
    ("name is victor how copy", "- - Victor"),
    ("name is juha juliett uniform hotel alpha", "- - Juha"),
    ("name is tom t o m kilo seven quebec", "- - Tom"),
    ("name is spelled m a r c o", "- - Marco"),
    (
        "the name is charlie charlie hotel alpha romeo lima india echo",
        "- - Charlie",
    ),
    ("name is dan d a n a", "- - Dana"),
    ("name is otto o t t o x y seven", "- - Otto"),
    // No names, or not his.
    ("your name is tom", "- - -"),
    ("what's your name please", "- - -"),
    ("his name is bob", "- - -"),
    ("my wife's name is alice", "- - -"),
    ("the dog's name is rex", "- - -"),
    ("my last name is miller", "- - -"),
    ("the name of the town is ouray", "- - -"),
    ("the name is hard to copy", "- - -"),
    ("my name is on the web page", "- - -"),
    ("my name is not important", "- - -"),
    ("name is in the book", "- - -"),
    ("the name is the same as yours", "- - -"),
    ("operator is having trouble", "- - -"),
    ("the operator is retired now", "- - -"),
    ("the other operator is john", "- - -"),
    ("op is on vacation", "- - -"),
    ("the door handle is broken", "- - -"),
    ("handle with care", "- - -"),
    ("virginia is the name of the boat", "- - -"),
    ("what is the name", "- - -"),
    ("that is the name", "- - -"),
    ("this is fun in the rain", "- - -"),
    ("this is a new rig from japan", "- - -"),
    ("this is tom", "- - -"),
    ("this is roger from here on", "- - -"),
    ("i'm just in from the garden", "- - -"),
    ("i'm mobile in the truck", "- - -"),
    ("call me later", "- - -"),
    ("you can call me any time", "- - -"),
    ("thanks tom good to hear you", "- - -"),
    ("my friend bob is here", "- - -"),
    ("the street name is mulberry", "- - -"),
    ("november five lima mike", "- - -"),
    ("my name is", "- - -"),
    ("good evening pete here in the north it rains", "- - -"),
];

/// What the operator says, as text, and the same.
const SENT: &[(&str, &str)] = &[
    ("thanks tom", "- - Tom"),
    ("thank you tom for the report", "- - Tom"),
    ("thank you very much helen", "- - Helen"),
    ("roger jim roger", "- - Jim"),
    ("hello again pete", "- - Pete"),
    ("hi dave how are you", "- - Dave"),
    ("good morning susan", "- - Susan"),
    ("okay bob fine business", "- - Bob"),
    ("fine business bob", "- - Bob"),
    ("seven three gary", "- - Gary"),
    ("seventy three and seven three hank", "- - Hank"),
    ("nice to meet you karen", "- - Karen"),
    ("great to hear you ted", "- - Ted"),
    ("all the best walt", "- - Walt"),
    ("got your name as fred", "- - Fred"),
    ("your name is mark", "- - Mark"),
    ("well steve you're the best", "- - Steve"),
    ("hello mike", "- - Mike"),
    ("thanks mike november five", "- - -"),
    ("hello mike mobile", "- - -"),
    ("hello from texas", "- - -"),
    ("thanks for the call", "- - -"),
    ("okay will do", "- - -"),
    ("roger roger", "- - -"),
    ("thanks hope to hear you", "- - -"),
    ("well jim said it would rain", "- - -"),
    ("yes bob was here before", "- - -"),
    ("this is martin in the car", "- - -"),
    ("my name is martin", "- - -"),
    ("name here is martin hello", "- - -"),
    ("i met tom in boise", "- - -"),
    ("thanks alistair", "- - -"),
    ("hello virginia is nice", "- - -"),
    ("thank you so long", "- - -"),
    ("okay may we go on", "- - -"),
    ("roger that good copy", "- - -"),
    ("the repeater is on mount baker", "- - -"),
];

#[test]
fn names_are_introduced_and_spelled() {
    check_each("r", RECEIVED);
}

#[test]
fn the_operator_calls_the_other_by_his_name() {
    check_each("t", SENT);
}

#[test]
fn text_and_words_support_or_contradict_each_other() {
    // The vocabulary has no Alistair.
    check(
        &["r name is Alice!? ~ name is alistair a l i s t a i r"],
        &["- - Alistair"],
    );
    check(&["r my name is Tom!? ~ my name is tom?"], &["- - Tom"]);
    check(&["r ~ my name is oleander?"], &["- - -"]);
    check(
        &["r ~ my name is oleander?", "r ~ the name's oleander"],
        &["- - Oleander"],
    );
    // What the operator gives as his own name is nobody else's, but he may repeat the other's.
    check(
        &["t ~ my name is martin", "r ~ name is martin name is tom"],
        &["- - Tom"],
    );
    check(&["r ~ name is tom", "t ~ okay name is tom"], &["- - Tom"]);
    check(&["r ~ my name is | | | | | | | hold on"], &["- - -"]);
}

#[test]
fn names_by_sound_stand_for_the_word_that_was_written() {
    check(
        &["r ~ my name is jefry/Jeffrey=0.8/Geoffrey=0.15 in ohio"],
        &["- - Jeffrey"],
    );
    // Words that are no names, and names on no list.
    check(&["r ~ name is just/Justin=0.9 in"], &["- - Justin"]);
    check(&["r ~ name is oleander/Leandro=0.05"], &["- - Oleander"]);
    check(&["r ~ name is oleander/Leandro=0.4"], &["- - -"]);
    // Too near one another to choose; said again by the one, or spelled, it is known.
    check(&["r ~ name is tym/Tim=0.48/Tom=0.48"], &["- - -"]);
    check(
        &[
            "r ~ name is tym/Tim=0.5/Tom=0.48",
            "r ~ name is tom/Tom=0.9/Tim=0.05",
        ],
        &["- - Tom"],
    );
    check(&["r ~ name is tim/Tim=0.9 t o m"], &["- - Tom"]);
    // A known name that was heard stays.
    check(&["r ~ name is tim/Tim=0.48/Tom=0.48"], &["- - Tim"]);
    // The operator's own is only the likeliest.
    check(
        &[
            "t ~ my name is martin/Martin=0.7/Tom=0.2",
            "r ~ name is tom/Tom=0.9",
        ],
        &["- - Tom"],
    );
}

proptest! {
    /// Whatever the words: nothing breaks, and every probability is one.
    #[test]
    fn any_text_is_read(
        words in prop::collection::vec(
            ("name|is|my|tom|five|nine|you're|a|l|i|double|as|in|that's|the|'s|é|[a-z'é ]{0,4}", 0.0_f64..3.0),
            0..30,
        ),
    ) {
        let mut at_s = 0.0;
        let text: Vec<WrittenWord> = words
            .into_iter()
            .map(|(word, gap_s)| {
                at_s += gap_s;
                let names = vec![("Tom".to_owned(), 0.7), ("Tim".to_owned(), 0.3)];
                let names = if gap_s > 1.0 { names } else { Vec::new() };
                WrittenWord { word, span: Span::new(at_s, at_s), probability: 1.0, names }
            })
            .collect();
        let mut said = super::super::text::given_names(&text, 0);
        said.extend(super::super::text::called_names(&text, 0));
        said.extend(super::super::text::written_reports(&text, 0));
        for one in said {
            prop_assert!((0.0..=1.0).contains(&one.probability), "{one:?}");
            prop_assert!(!one.text.is_empty() && one.at.start_s <= one.at.end_s, "{one:?}");
        }
    }
}
