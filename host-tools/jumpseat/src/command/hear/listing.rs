//! What was heard, for people.

use std::path::Path;

use jumpseat_speech::{Hearing, RecognisedWord};
use jumpseat_values::display::percent;
use jumpseat_vocabulary::OTHER_WORD;

use crate::print::visible;
use crate::table::TextTable;

/// A word below this is shown with a question mark (our choice).
const DOUBTFUL: f64 = 0.8;
/// Other readings of a call sign below this are not worth a look (our choice).
const LIKELY: f64 = 0.05;
/// How a word that the vocabulary does not have is shown.
const TALK: &str = "...";

/// What was said, a line for each stretch of speech; then call signs with their other
/// readings, then the rest.
pub(super) fn listing(file: &Path, hearing: &Hearing) -> String {
    let sure = |p: f64| format!("{} %", percent(p));
    let mut out = format!("{}\n", visible(&file.to_string_lossy()));
    if hearing.speech.is_empty() {
        out.push_str("nobody speaks\n");
        return out;
    }
    out.push_str(&spoken(hearing).text());
    out.push('\n');
    for sign in &hearing.signs {
        let times = match sign.spans_s.len() {
            1 => "once".to_owned(),
            many => format!("{many} times"),
        };
        out.push_str(&format!(
            "call sign {} {}, said {times}",
            sign.text,
            sure(sign.probability)
        ));
        let others = sign.alternatives.iter();
        for other in others.filter(|other| other.probability >= LIKELY) {
            out.push_str(&format!("; {} {}", other.text, sure(other.probability)));
        }
        out.push('\n');
    }
    for (what, list) in [
        ("report", &hearing.reports),
        ("name", &hearing.names),
        ("number", &hearing.numbers),
    ] {
        for said in list {
            let sure = sure(said.probability);
            out.push_str(&format!("{what} {} {sure}\n", said.text));
        }
    }
    out
}

/// Words in order; each stands with the stretch of speech that began last before it.
fn spoken(hearing: &Hearing) -> TextTable {
    let mut table = TextTable::new(&["Second", "Heard"]);
    for (index, &(from, _)) in hearing.speech.iter().enumerate() {
        let next = hearing.speech.get(index + 1);
        let next = next.map_or(f64::INFINITY, |&(next, _)| next);
        let begin = if index == 0 { 0.0 } else { from };
        let inside = |word: &&RecognisedWord| (begin..next).contains(&word.span_s.0);
        let mut said: Vec<String> = hearing.words.iter().filter(inside).map(shown).collect();
        said.dedup_by(|one, other| one == other && *one == TALK);
        table.row(vec![format!("{from:.1}"), said.join(" ")]);
    }
    table
}

/// A doubtful word with "?", talk that it has no word for as "...".
fn shown(word: &RecognisedWord) -> String {
    if word.word == OTHER_WORD {
        return TALK.to_owned();
    }
    let text = word.word.strip_prefix("letter-");
    let text = text.map_or_else(|| word.word.to_owned(), str::to_uppercase);
    if word.probability < DOUBTFUL {
        text + "?"
    } else {
        text
    }
}
