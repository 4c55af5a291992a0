//! Prints what was heard, for people.

use std::path::Path;

use jumpseat_speech::{Hearing, TranscriptWord};
use jumpseat_values::display::percent;

use crate::print::visible;
use crate::table::TextTable;
use crate::transcripts::{DOUBTFUL_LEGEND, marked};

/// Other readings of a call sign below this are not worth a look (our choice).
const LIKELY: f64 = 0.05;
/// How a stretch without words is shown, and what that means.
const NO_WORDS: &str = "...";
const NO_WORDS_LEGEND: &str = "...  speech without a word that could be made out";

/// The transcript, one line for each stretch of speech; then the call signs with their other
/// readings, then the rest.
pub(super) fn listing(file: &Path, hearing: &Hearing) -> String {
    let sure = |p: f64| format!("{} %", percent(p));
    let mut out = format!("{}\n", visible(&file.to_string_lossy()));
    if hearing.speech.is_empty() {
        out.push_str("no speech\n");
        return out;
    }
    let spoken = spoken(hearing).text();
    out.push_str(&spoken);
    if hearing.transcript.iter().any(TranscriptWord::is_doubtful) {
        out.push_str(&format!("{DOUBTFUL_LEGEND}\n"));
    }
    if spoken
        .lines()
        .any(|line| line.ends_with(&format!("  {NO_WORDS}")))
    {
        out.push_str(&format!("{NO_WORDS_LEGEND}\n"));
    }
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

/// The transcript: each word in the line of the last stretch of speech that began before its
/// middle.
fn spoken(hearing: &Hearing) -> TextTable {
    let mut table = TextTable::new(&["Second", "Heard"]);
    for (index, &(from, _)) in hearing.speech.iter().enumerate() {
        let next = hearing.speech.get(index + 1);
        let next = next.map_or(f64::INFINITY, |&(next, _)| next);
        let begin = if index == 0 { 0.0 } else { from };
        let inside = |word: &&TranscriptWord| {
            (begin..next).contains(&((word.span_s.0 + word.span_s.1) / 2.0))
        };
        let words = hearing.transcript.iter().filter(inside);
        let said = marked(words.map(|word| (word.text.as_str(), word.probability)));
        let said = if said.is_empty() {
            NO_WORDS.to_owned()
        } else {
            said
        };
        table.row(vec![format!("{from:.1}"), said]);
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The lines of the table for words at these seconds with these probabilities.
    #[track_caller]
    fn check(speech: &[(f64, f64)], words: &[(&str, f64, f64)], expected: &[&str]) {
        let word = |(text, at_s, probability): &(&str, f64, f64)| TranscriptWord {
            text: (*text).to_owned(),
            span_s: (at_s - 0.2, at_s + 0.2),
            probability: *probability,
            names: Vec::new(),
        };
        let mut hearing = Hearing::default();
        hearing.speech.extend(speech);
        hearing.transcript.extend(words.iter().map(word));
        let listed = listing(Path::new("over.wav"), &hearing);
        assert_eq!(listed.lines().collect::<Vec<_>>(), expected, "{listed}");
    }

    #[test]
    fn each_stretch_is_a_line_and_doubtful_words_are_marked() {
        check(&[], &[], &["over.wav", "no speech"]);
        check(
            &[(1.0, 3.0), (10.0, 12.0), (20.0, 21.0)],
            &[("good", 0.9, 0.9), ("day", 2.0, 0.8), ("over", 10.1, 0.3)],
            &[
                "over.wav",
                "Second  Heard",
                "1.0     good day",
                "10.0    [over?]",
                "20.0    ...",
                "[?]  a doubtful word: listen before you believe it",
                "...  speech without a word that could be made out",
                "",
            ],
        );
    }
}
