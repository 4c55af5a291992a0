//! Names that are spelled right after they are said: 'my name is Tom, Tango Oscar Mike'.
//!
//! Whatever the spoken name was taken for may stand before the letters, a letter of it
//! included, and a call sign often follows them. So every piece of the letters may be the
//! name; pauses, and whether it is a known first name, say which.

use jumpseat_values::Span;
use strsim::normalized_levenshtein;

use super::first_names::{self, capital};
use crate::heard::HeardWord;
use crate::spoken::{SpokenForm, SpokenValue};
use jumpseat_vocabulary::WordSense;

/// Letters follow one another within this time, from start to start, in seconds.
const LETTERS_S: f64 = 0.95;
/// The letters begin at most so many words after 'name'.
const MOST_WORDS_BEFORE_LETTERS: usize = 5;
/// Letters of a name.
const SHORTEST_NAME: usize = 3;
const LONGEST_NAME: usize = 10;
/// At most so many words before the letters are taken for letters.
const MOST_MISTAKEN_LETTERS: usize = 3;
/// How much rarer names outside the list are, as letters that follow a name.
const UNKNOWN_NAME_WEIGHT: f64 = 0.05;
/// Names that are at least so alike, letter by letter, may be one (our choice).
const SAME_NAME_LIKENESS: f64 = 0.7;
/// How much likelier the name is that was said before the letters.
const SAID_NAME_WEIGHT: f64 = 15.0;
/// How much less likely one is that is no first name of the list, but like the one before.
const ALIKE_NAME_WEIGHT: f64 = 0.5;
/// How much less likely a name ends, or begins, where there is no pause and no doubt.
const INSIDE_WEIGHT: f64 = 0.05;
/// The same where the pause is longer than others, or the letter before is doubtful.
const PAUSE_WEIGHT: f64 = 0.5;
/// A pause longer than others by this factor is one.
const PAUSE_FACTOR: f64 = 1.25;
/// A letter less probable than this is doubtful.
const DOUBTFUL_LETTER: f64 = 0.75;

/// Names spelled among these words.
pub(super) fn names(words: &[HeardWord], over: usize) -> Vec<SpokenValue> {
    let letter = |word: &HeardWord| matches!(word.symbol.as_bytes(), [b'A'..=b'Z']);
    let mut out = Vec::new();
    let mut at = 0;
    while at < words.len() {
        let run = words[at..]
            .iter()
            .enumerate()
            .take_while(|(place, word)| {
                let gap_s = match place {
                    0 => 0.0,
                    _ => word.span.start_s - words[at + place - 1].span.start_s,
                };
                letter(word) && gap_s < LETTERS_S
            })
            .count();
        let led = words[at.saturating_sub(MOST_WORDS_BEFORE_LETTERS)..at]
            .iter()
            .any(|word| word.means(WordSense::Name));
        if led && run >= SHORTEST_NAME {
            let follows = at.checked_sub(1).map(|before| &words[before]);
            // Right after 'is' the name itself comes first.
            let is_too_soon = follows.is_some_and(|word| {
                word.means_any(&[WordSense::Is, WordSense::Here, WordSense::Name])
            });
            let place = SpellingPlace {
                is_too_soon,
                ..SpellingPlace::default()
            };
            let spelled = best(&words[at..at + run], &place);
            out.extend(spelled.map(|name| name.said(over)));
        }
        at += run.max(1);
    }
    out
}

/// A name that letters make.
pub(super) struct SpelledName {
    /// In capitals.
    pub(super) text: String,
    /// 0 to 1.
    pub(super) probability: f64,
    /// When its letters were said.
    pub(super) span: Span,
}

impl SpelledName {
    fn said(self, over: usize) -> SpokenValue {
        let way = if first_names::is_known(&self.text) {
            SpokenForm::NameSpelled
        } else {
            SpokenForm::NameSpelledUnknown
        };
        SpokenValue::new(capital(&self.text), way, self.probability, over, self.span)
    }
}

/// What stands around letters.
#[derive(Default)]
pub(super) struct SpellingPlace<'a> {
    /// Something else is said where they begin.
    pub(super) is_too_soon: bool,
    /// A call sign may follow them at once.
    pub(super) sign_follows: bool,
    /// The name, in capitals, that was said before them.
    pub(super) said: Option<&'a str>,
}

/// The likeliest piece of the letters.
pub(super) fn best(run: &[HeardWord], place: &SpellingPlace<'_>) -> Option<SpelledName> {
    let usual_s = median_gap(run);
    let paused = |at: usize| {
        let gap = run.get(at - 1).zip(run.get(at));
        gap.is_some_and(|(one, next)| next.span.start_s - one.span.start_s > PAUSE_FACTOR * usual_s)
    };
    let mut total = 0.0;
    let mut best: Option<(f64, usize, usize, String)> = None;
    let latest = run.len().checked_sub(SHORTEST_NAME)?;
    for first in 0..=MOST_MISTAKEN_LETTERS.min(latest) {
        let begins = match first {
            0 if place.is_too_soon => PAUSE_WEIGHT,
            0 => 1.0,
            _ if paused(first) || run[first - 1].probability < DOUBTFUL_LETTER => PAUSE_WEIGHT,
            _ => INSIDE_WEIGHT,
        };
        for end in first + SHORTEST_NAME..=run.len().min(first + LONGEST_NAME) {
            let ends = match end {
                _ if end == run.len() && place.sign_follows => PAUSE_WEIGHT,
                _ if end == run.len() => 1.0,
                _ if paused(end) => PAUSE_WEIGHT,
                _ => INSIDE_WEIGHT,
            };
            let text: String = run[first..end]
                .iter()
                .map(|word| word.symbol.as_str())
                .collect();
            let known = match place.said {
                Some(said) if said == text => SAID_NAME_WEIGHT,
                _ if first_names::is_known(&text) => 1.0,
                Some(said) if is_alike(said, &text) => ALIKE_NAME_WEIGHT,
                _ => UNKNOWN_NAME_WEIGHT,
            };
            let weight = begins * ends * known;
            total += weight;
            if best.as_ref().is_none_or(|(most, ..)| weight > *most) {
                best = Some((weight, first, end, text));
            }
        }
    }
    let (weight, first, end, text) = best?;
    let letters: f64 = run[first..end]
        .iter()
        .map(|word| word.probability)
        .product();
    Some(SpelledName {
        text,
        probability: letters * weight / total,
        span: Span::new(run[first].span.start_s, run[end - 1].span.end_s),
    })
}

/// Whether two names may be one, written in two ways.
pub(super) fn is_alike(one: &str, other: &str) -> bool {
    normalized_levenshtein(one, other) >= SAME_NAME_LIKENESS
}

/// The usual time from letter to letter, in seconds.
fn median_gap(run: &[HeardWord]) -> f64 {
    let mut gaps: Vec<f64> = run
        .windows(2)
        .map(|pair| pair[1].span.start_s - pair[0].span.start_s)
        .collect();
    gaps.sort_by(f64::total_cmp);
    gaps.get(gaps.len() / 2).copied().unwrap_or(LETTERS_S)
}
