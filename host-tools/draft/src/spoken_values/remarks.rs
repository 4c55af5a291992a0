//! Numbers and references that a word announces, and the other station's locator.

use jumpseat_place::locator::is_locator;
use jumpseat_values::Span;

use crate::drive::{AssemblyInput, OverDirection};
use crate::heard::HeardWord;
use crate::over_stretch::OverStretch;
use crate::spoken::{SpokenForm, SpokenValue, heard_in, is_figure, is_symbol};
use jumpseat_vocabulary::WordSense;

/// Senses of words that announce a number or a reference.
const ANNOUNCING_SENSES: [WordSense; 2] = [WordSense::NumberFollows, WordSense::SiteFollows];
/// Symbols of one number follow one another within this time, in seconds.
const SYMBOLS_TOGETHER_S: f64 = 1.2;
/// A place is said within this time after a word that announces it, in seconds.
const PLACE_FOLLOWS_S: f64 = 4.0;
/// Longest number or reference, in symbols.
const LONGEST_NUMBER: usize = 10;

/// Numbers and references that were given, or confirmed, in either direction, such as
/// 'number 1793'.
pub(super) fn numbers(drive: &AssemblyInput, overs: &[usize]) -> Vec<SpokenValue> {
    let both = [OverDirection::Rx, OverDirection::Tx];
    let mut out = Vec::new();
    for (over, heard) in both.iter().flat_map(|way| heard_in(drive, overs, *way)) {
        for (at, word) in heard.words.iter().enumerate() {
            if !word.means_any(&ANNOUNCING_SENSES) {
                continue;
            }
            let symbols = symbols_after(&heard.words, at);
            if symbols.iter().any(|word| is_figure(&word.symbol)) {
                let text = format!("{} {}", word.word, text(symbols));
                out.extend(said(text, word, symbols, over));
            }
        }
    }
    out
}

/// Locators that others gave as theirs.
pub(super) fn locators(drive: &AssemblyInput, overs: &[usize]) -> Vec<SpokenValue> {
    let mut out = Vec::new();
    for (over, heard) in heard_in(drive, overs, OverDirection::Rx) {
        for (at, word) in heard.words.iter().enumerate() {
            if !word.means(WordSense::LocatorFollows) {
                continue;
            }
            let symbols = symbols_after(&heard.words, at);
            let length = [6, 4].into_iter().find(|length| {
                let piece = symbols.get(..*length);
                piece.is_some_and(|piece| is_locator(&text(piece)))
            });
            if let Some(piece) = length.and_then(|length| symbols.get(..length)) {
                out.extend(said(text(piece), word, piece, over));
            }
        }
    }
    out
}

/// Where others may have said their place.
pub(super) fn place_mentions(drive: &AssemblyInput, overs: &[usize]) -> Vec<OverStretch> {
    let mut out = Vec::new();
    for (over, heard) in heard_in(drive, overs, OverDirection::Rx) {
        let announced =
            |word: &&HeardWord| word.means_any(&[WordSense::OwnPlace, WordSense::LocatorFollows]);
        let words = heard.words.iter().filter(announced);
        out.extend(words.map(|word| OverStretch {
            over,
            start_s: word.span.start_s,
            end_s: word.span.end_s + PLACE_FOLLOWS_S,
        }));
    }
    out
}

/// Letters and figures that follow a word at once.
fn symbols_after(words: &[HeardWord], at: usize) -> &[HeardWord] {
    let rest = &words[at + 1..];
    let mut before_s = words[at].span.end_s;
    let count = rest
        .iter()
        .take(LONGEST_NUMBER)
        .take_while(|word| {
            let near = word.span.start_s - before_s < SYMBOLS_TOGETHER_S;
            before_s = word.span.end_s;
            near && is_symbol(&word.symbol)
        })
        .count();
    &rest[..count]
}

fn text(symbols: &[HeardWord]) -> String {
    symbols.iter().map(|word| word.symbol.as_str()).collect()
}

fn said(text: String, lead: &HeardWord, symbols: &[HeardWord], over: usize) -> Option<SpokenValue> {
    let span = Span::new(lead.span.start_s, symbols.last()?.span.end_s);
    let probability = symbols.iter().map(|word| word.probability).product();
    Some(SpokenValue::new(
        text,
        SpokenForm::Announced,
        probability,
        over,
        span,
    ))
}
