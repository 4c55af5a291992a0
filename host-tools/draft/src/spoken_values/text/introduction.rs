//! Words after which somebody gives his own name (common practice).

use super::phrase::{SpokenPhrase, has, is_other_word_too, is_plain, symbol};
use crate::spoken_values::first_names;

/// Words for a name, and with 'is' in them.
const NAME_WORDS: &str = "name handle operator op nickname";
const NAME_IS_WORDS: &str = "name's handle's operator's op's nickname's";
/// Before a word for a name these make it another's, or of another thing.
const OF_ANOTHER: &str = "\
    your his her hers their its our whose what what's which last middle family brand \
    street business place town user company domain dog boat ship park club other second \
    previous door no code road old a that you're";
/// Words that look like another's before a word for a name.
const OF_THE_SPEAKER: &str = "it's here's that's operator's op's";
/// Words between a word for a name and its 'is'.
const PLACES_HERE: &str = "\
    here over on at this my end side today again";
/// Words between 'is' and the name.
const BEFORE_NAME: &str = "\
    again also just simply still like once more actually it's is now";
/// Words for where somebody is, which follow 'this is Tom'.
const BEFORE_PLACE: &str = "\
    in over from up down out near at here just outside";
/// Words before a name that are only believed of known ones.
const CALLED_BY: &[&str] = &[
    "call me",
    "calls me",
    "i go by",
    "the name of",
    "everybody says",
    "answer to",
    "known as",
];
/// Words of saying whose voice it is.
const VOICE_OF: &[&str] = &["this is", "i'm", "i am", "it's"];
/// What follows a word that is no name: 'the name is short for something'.
const AFTER_OTHERS: &str = "\
    of to than that which enough be not about";
/// Words before 'is the name' go on with these where the name is a thing's.
const OF_THINGS: &str = "of for on that";

/// A place where a name may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct IntroducedPlace {
    pub(super) at: usize,
    /// Whether only a known first name is one there.
    pub(super) known_only: bool,
    /// Whether a name there is the speaker's own beyond doubt: 'my name is', 'name here is'. A
    /// plain 'name is' may repeat the other's.
    pub(super) surely_own: bool,
}

/// Every place of a phrase where somebody gives his own name.
pub(super) fn places(phrase: &SpokenPhrase<'_>) -> Vec<IntroducedPlace> {
    let mut out: Vec<IntroducedPlace> = Vec::new();
    for at in 0..phrase.len() {
        let found = announced(phrase, at)
            .or_else(|| called_by(phrase, at))
            .or_else(|| voice_of(phrase, at))
            .or_else(|| is_the_name(phrase, at))
            .or_else(|| is_here(phrase, at));
        if let Some(place) = found.filter(|place| !out.iter().any(|one| one.at == place.at)) {
            out.push(place);
        }
    }
    out
}

/// The name at such a place, in small letters, if there is one.
pub(super) fn name_at<'a>(phrase: &SpokenPhrase<'a>, place: IntroducedPlace) -> Option<&'a str> {
    let word = phrase.word(place.at);
    // 'Tom's the name' has the verb in it.
    let name = word.strip_suffix("'s").unwrap_or(word);
    let plain = is_plain(word) || has(AFTER_OTHERS, phrase.word(place.at + 1));
    (is_known(name) || !place.known_only && !plain && may_be_name(name)).then_some(name)
}

/// Whether a word that is on no list of names may be one.
fn may_be_name(word: &str) -> bool {
    let letters = word.chars().filter(|c| *c != '\'' && *c != '-');
    let invented = word.len() > 4 && (word.ends_with("ing") || word.ends_with("ed"));
    (2..=14).contains(&word.len())
        && letters.clone().count() + 1 >= word.len()
        && letters.into_iter().all(|c| c.is_ascii_lowercase())
        && !invented
        && !is_plain(word)
        && symbol(word).is_empty()
}

/// Whether it is a first name of the list, in small letters.
pub(super) fn is_known(word: &str) -> bool {
    first_names::is_known(&word.to_uppercase())
}

/// 'My name is', 'handle here is', 'the op's'; 'name Tom' of known ones.
fn announced(phrase: &SpokenPhrase<'_>, at: usize) -> Option<IntroducedPlace> {
    let word = phrase.word(at);
    if is_of_another(phrase, at) {
        return None;
    }
    let my = phrase.before(at, 1) == "my";
    let after_is = |mut at: usize, here: bool| {
        // 'Just' may be the beginning of Justin: the ear tells.
        while has(BEFORE_NAME, phrase.word(at)) && phrase.names(at).is_empty() {
            at += 1;
        }
        IntroducedPlace {
            at,
            known_only: false,
            surely_own: my || here,
        }
    };
    let names = word == "names" && matches!(phrase.before(at, 1), "my" | "the");
    if has(NAME_IS_WORDS, word) || names {
        return Some(after_is(at + 1, false));
    }
    if !has(NAME_WORDS, word) {
        return None;
    }
    let mut next = at + 1;
    while has(PLACES_HERE, phrase.word(next)) && next <= at + 4 {
        next += 1;
    }
    match phrase.word(next) {
        "is" => Some(after_is(next + 1, next > at + 1)),
        "here's" => Some(after_is(next + 1, true)),
        _ if next <= at + 2 => Some(IntroducedPlace {
            at: next,
            known_only: true,
            surely_own: my,
        }),
        _ => None,
    }
}

fn is_of_another(phrase: &SpokenPhrase<'_>, at: usize) -> bool {
    let whose = match phrase.before(at, 1) {
        "first" | "real" => phrase.before(at, 2),
        whose => whose,
    };
    let contracted = whose.ends_with("'s") && !has(OF_THE_SPEAKER, whose);
    has(OF_ANOTHER, whose) || contracted
}

/// 'They call me Tom'.
fn called_by(phrase: &SpokenPhrase<'_>, at: usize) -> Option<IntroducedPlace> {
    Some(IntroducedPlace {
        at: phrase.after_one(at, CALLED_BY)?,
        known_only: true,
        surely_own: true,
    })
}

/// 'This is Tom in Denver'.
fn voice_of(phrase: &SpokenPhrase<'_>, at: usize) -> Option<IntroducedPlace> {
    let name = phrase.after_one(at, VOICE_OF)?;
    let placed = has(BEFORE_PLACE, phrase.word(name + 1));
    (placed && !is_other_word_too(phrase.word(name))).then_some(IntroducedPlace {
        at: name,
        known_only: true,
        surely_own: true,
    })
}

/// 'Tom is the name', 'Tom's the op here'.
fn is_the_name(phrase: &SpokenPhrase<'_>, at: usize) -> Option<IntroducedPlace> {
    let verb = usize::from(phrase.word(at + 1) == "is");
    let article = at + 1 + verb;
    let whose = matches!(phrase.word(article), "the" | "my");
    let named = has(NAME_WORDS, phrase.word(article + 1));
    let of_thing = has(OF_THINGS, phrase.word(article + 2));
    // Without 'is' there is a name only if that is in the word: 'Tom's the name'.
    let short = verb == 0 && !phrase.word(at).ends_with("'s");
    let place = IntroducedPlace {
        at,
        known_only: false,
        surely_own: false,
    };
    (whose && named && !of_thing && !short).then_some(place)
}

/// 'Hello Tom, Dave here': the first is the other.
fn is_here(phrase: &SpokenPhrase<'_>, at: usize) -> Option<IntroducedPlace> {
    let named = is_known(phrase.before(at, 1)) && is_known(phrase.word(at));
    let here = phrase.word(at + 1) == "here" && !is_other_word_too(phrase.word(at));
    (named && here).then_some(IntroducedPlace {
        at,
        known_only: true,
        surely_own: true,
    })
}
