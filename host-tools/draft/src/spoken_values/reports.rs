//! Signal reports.

use jumpseat_values::Span;

use super::text;
use crate::drive::{AssemblyInput, OverDirection};
use crate::heard::{HeardText, HeardWord};
use crate::spoken::{SpokenForm, SpokenValue, heard_in, is_figure, is_symbol};
use jumpseat_vocabulary::WordSense;

/// Senses of words that lead a report (common practice).
const REPORTING_SENSES: [WordSense; 5] = [
    WordSense::Are,
    WordSense::You,
    WordSense::Your,
    WordSense::Is,
    WordSense::Report,
];
/// Figures of one number follow one another within this time, in seconds.
const FIGURES_TOGETHER_S: f64 = 0.8;

/// Reports said in the overs of one direction.
pub(super) fn spoken_reports(
    drive: &AssemblyInput,
    overs: &[usize],
    direction: OverDirection,
) -> Vec<SpokenValue> {
    let mut found: Vec<SpokenValue> = Vec::new();
    for (over, heard) in heard_in(drive, overs, direction) {
        for one in &heard.reports {
            if is_report(&heard.words, one) {
                let text = one.text.clone();
                found.push(SpokenValue::new(
                    text,
                    SpokenForm::ReportTold,
                    one.probability,
                    over,
                    one.span,
                ));
            }
        }
        for (text, way, probability, span) in bare(&heard.words) {
            let known = |one: &SpokenValue| one.at.over == over && one.at.span().meets(&span);
            if !found.iter().any(known) {
                found.push(SpokenValue::new(text, way, probability, over, span));
            }
        }
        found.extend(text::written_reports(&heard.text, over));
    }
    found
}

/// What the recogniser takes for a report is none as a part of a longer number, or of one
/// that a word announces.
fn is_report(words: &[HeardWord], said: &HeardText) -> bool {
    let inside = |word: &&HeardWord| word.span.meets(&said.span);
    let Some(at) = words.iter().position(|word| inside(&word)) else {
        return true;
    };
    let (first, last) = run(words, at);
    let before = first.checked_sub(1).and_then(|before| words.get(before));
    let counting = before.is_some_and(|word| word.means(WordSense::NumberFollows));
    let long = last - first > 1 && !is_pair_twice(&words[first..=last]);
    !counting && !long
}

/// The figures around a word that are said in one go: first and last.
fn run(words: &[HeardWord], at: usize) -> (usize, usize) {
    let joined = |one: &HeardWord, next: &HeardWord| {
        is_figure(&one.symbol)
            && is_figure(&next.symbol)
            && next.span.start_s - one.span.end_s < FIGURES_TOGETHER_S
    };
    let mut first = at;
    while first > 0 && joined(&words[first - 1], &words[first]) {
        first -= 1;
    }
    let mut last = at;
    while last + 1 < words.len()
        && joined(&words[last], &words[last + 1])
        && !is_farewell(words, last + 1)
    {
        last += 1;
    }
    (first, last)
}

/// Whether a 'seven three' begins there, which ends what was said before.
fn is_farewell(words: &[HeardWord], at: usize) -> bool {
    let symbols = words.get(at..at + 2);
    symbols.is_some_and(|pair| pair[0].symbol == "7" && pair[1].symbol == "3")
}

/// 'five seven, five seven'.
fn is_pair_twice(words: &[HeardWord]) -> bool {
    let symbols: Vec<&str> = words.iter().map(|word| word.symbol.as_str()).collect();
    matches!(symbols[..], [a, b, c, d] if a == c && b == d)
}

/// Pairs of figures: readability 3 to 5 and strength 1 to 9.
fn bare(words: &[HeardWord]) -> Vec<(String, SpokenForm, f64, Span)> {
    let figure = |at: Option<&HeardWord>| at.is_some_and(|word| is_symbol(&word.symbol));
    let mut out = Vec::new();
    let mut at = 0;
    while at + 1 < words.len() {
        let joined = words[at + 1].means(WordSense::And);
        let second_at = at + 1 + usize::from(joined);
        let (first, Some(second)) = (&words[at], words.get(second_at)) else {
            break;
        };
        let readable = matches!(first.symbol.as_str(), "3" | "4" | "5");
        let strong = matches!(second.symbol.as_bytes(), [b'1'..=b'9']);
        let twice = words.get(at..at + 4).is_some_and(is_pair_twice);
        let end_at = if twice { at + 3 } else { second_at };
        let before = at.checked_sub(1).and_then(|before| words.get(before));
        let goes_on = figure(words.get(end_at + 1)) && !is_farewell(words, end_at + 1);
        let alone = !figure(before) && !goes_on;
        let counting = before.is_some_and(|word| word.means(WordSense::NumberFollows));
        if alone && readable && strong && !counting {
            let led = before.is_some_and(|word| word.means_any(&REPORTING_SENSES));
            let way = if led || joined || twice {
                SpokenForm::ReportLed
            } else {
                SpokenForm::ReportBare
            };
            let mut probability = first.probability * second.probability;
            if twice {
                // Said well once is enough.
                probability =
                    probability.max(words[at + 2].probability * words[end_at].probability);
            }
            out.push((
                format!("{}{}", first.symbol, second.symbol),
                way,
                probability,
                Span::new(first.span.start_s, words[end_at].span.end_s),
            ));
            at = end_at;
        }
        at += 1;
    }
    out
}
