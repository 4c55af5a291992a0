//! Letters that spell a name in a text.

use super::phrase::{SpokenPhrase, has, symbol};
use crate::heard::HeardWord;

/// Words between a name and its letters: 'Tom, that's spelled T O M'.
const BETWEEN: &str = "\
    that's that is i spell spelled spelt spelling it it's as in like phonetically again \
    with phonetics and the so";
/// At most so many words are between.
const MOST_BETWEEN: usize = 7;
/// Letters follow one another within this time, from end to start, in seconds (our choice).
const LETTERS_NEAR_S: f64 = 1.4;
/// Words of comparison: 'T as in tango', 'T for tango'.
const COMPARISONS: &[&str] = &["as in", "like in", "for", "like"];

/// Letters that were said one after the other.
pub(super) struct LetterRun {
    /// Each with its letter as symbol.
    pub(super) letters: Vec<HeardWord>,
    /// The place after the last.
    end: usize,
    /// Whether a figure follows at once, so that the last letters may be a call sign's.
    pub(super) sign_follows: bool,
}

impl LetterRun {
    /// The letters that begin at a place.
    pub(super) fn at(phrase: &SpokenPhrase<'_>, first: usize) -> Self {
        let mut run = Self {
            letters: Vec::new(),
            end: first,
            sign_follows: false,
        };
        while run.end < phrase.len() {
            let near = phrase.pause_before_s(run.end);
            let near = run.letters.is_empty() || near.is_some_and(|s| s < LETTERS_NEAR_S);
            let double = phrase.word(run.end) == "double" || phrase.word(run.end) == "two";
            let at = run.end + usize::from(double && is_letter(phrase.word(run.end + 1)));
            if !near || !is_letter(phrase.word(at)) {
                break;
            }
            for _ in run.end..=at {
                run.letters.push(HeardWord {
                    word: phrase.word(at).to_owned(),
                    symbol: symbol(phrase.word(at)).to_owned(),
                    is_name: false,
                    span: phrase.span(at, at),
                    probability: phrase.probability(at),
                });
            }
            run.end = at + 1 + compared(phrase, at);
        }
        run.sign_follows = is_figure(phrase.word(run.end));
        run
    }

    /// The letters that follow a name which ends before `from`; empty if none do.
    pub(super) fn after(phrase: &SpokenPhrase<'_>, from: usize, name: &str) -> Self {
        let mut at = from;
        while at < phrase.len().min(from + MOST_BETWEEN) {
            let run = Self::at(phrase, at);
            // 'That's I spell' and 'as in' have letters' names in them.
            if run.letters.len() > 1 {
                return run;
            }
            if !has(BETWEEN, phrase.word(at)) && phrase.word(at) != name {
                break;
            }
            at += 1;
        }
        Self {
            letters: Vec::new(),
            end: from,
            sign_follows: false,
        }
    }

    /// The letters as one word, in capitals.
    pub(super) fn text(&self) -> String {
        let symbols = self.letters.iter().map(|word| word.symbol.as_str());
        symbols.collect()
    }
}

/// Whether it stands for a letter.
pub(super) fn is_letter(word: &str) -> bool {
    matches!(symbol(word).as_bytes(), [b'A'..=b'Z'])
}

/// Whether it stands for a figure.
pub(super) fn is_figure(word: &str) -> bool {
    matches!(symbol(word).as_bytes(), [b'0'..=b'9'])
}

/// How many words after a letter only say which it is: 'as in tango'.
fn compared(phrase: &SpokenPhrase<'_>, at: usize) -> usize {
    let letter = phrase.word(at);
    let example = phrase.after_one(at + 1, COMPARISONS);
    let fits = |place: &usize| {
        let example = phrase.word(*place);
        letter.len() == 1 && example.len() > 1 && example.starts_with(letter)
    };
    example.filter(fits).map_or(0, |place| place - at)
}
