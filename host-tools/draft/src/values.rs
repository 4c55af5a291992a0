//! Reports and names, pooled over the overs of a contact.

use std::collections::BTreeMap;

use crate::heard::{Heard, HeardText, HeardWord};
use crate::{Alternative, Direction, Doubt, Drive, Evidence, Judged, Span};

/// A figure pair with no word of reporting before it is a report with this share of
/// its probability: signs, roads and watts have figures, too.
const BARE: f64 = 0.3;
/// A name without 'name' before it counts with this share.
const UNCALLED: f64 = 0.35;
/// Less probable values are left blank rather than guessed.
const LEAST: f64 = 0.5;

/// The report that went in one direction.
pub(crate) fn report(
    drive: &Drive,
    overs: &[usize],
    direction: Direction,
    span: &Span,
) -> Judged<String> {
    let mut found = Vec::new();
    for (index, heard) in heard(drive, overs, direction) {
        let within = |said: &HeardText| said.span.meets(span);
        for said in heard.reports.iter().filter(|said| within(said)) {
            found.push((
                said.text.clone(),
                said.probability,
                evidence(index, said.span),
            ));
        }
        for (text, probability, at) in bare_reports(&heard.words, span) {
            let known = found.iter().any(|(_, _, evidence)| {
                evidence.over == index && Span::new(evidence.start_s, evidence.end_s).meets(&at)
            });
            if !known {
                found.push((text, BARE * probability, evidence(index, at)));
            }
        }
    }
    pooled(found)
}

/// The other operator's name: what he gave as his, and what the operator calls him.
pub(crate) fn name(drive: &Drive, overs: &[usize], span: &Span) -> Judged<String> {
    let mut found = Vec::new();
    let mut own: Vec<String> = Vec::new();
    // What the operator gives as his name on this drive is nobody else's here.
    for (_, heard) in heard(drive, &all(drive), Direction::Tx) {
        own.extend(heard.names.iter().map(|said| said.text.clone()));
    }
    for (index, heard) in heard(drive, overs, Direction::Rx) {
        for said in heard.names.iter().filter(|said| said.span.meets(span)) {
            found.push((
                said.text.clone(),
                said.probability,
                evidence(index, said.span),
            ));
        }
    }
    for (index, heard) in heard(drive, overs, Direction::Tx) {
        let called = heard
            .words
            .iter()
            .filter(|word| word.is_name && word.span.meets(span));
        for word in called {
            let share = UNCALLED * word.probability;
            found.push((capital(&word.word), share, evidence(index, word.span)));
        }
    }
    found.retain(|(text, ..)| !own.contains(text));
    pooled(found)
}

fn all(drive: &Drive) -> Vec<usize> {
    (0..drive.overs.len()).collect()
}

fn heard<'a>(drive: &'a Drive, overs: &[usize], direction: Direction) -> Vec<(usize, &'a Heard)> {
    let over = |&index: &usize| {
        let over = drive.overs.get(index)?;
        let heard = over
            .heard
            .as_ref()
            .filter(|_| over.direction == direction)?;
        Some((index, heard))
    };
    overs.iter().filter_map(over).collect()
}

fn evidence(over: usize, span: Span) -> Evidence {
    Evidence {
        over,
        start_s: span.start_s,
        end_s: span.end_s,
    }
}

/// Two figures in a row that stand alone: readability 3 to 5 and strength 1 to 9.
fn bare_reports(words: &[HeardWord], span: &Span) -> Vec<(String, f64, Span)> {
    let figure = |at: Option<&HeardWord>| at.is_some_and(|word| is_symbol(&word.symbol));
    let mut out = Vec::new();
    for at in 0..words.len().saturating_sub(1) {
        let (first, second) = (&words[at], &words[at + 1]);
        let before = at.checked_sub(1).and_then(|before| words.get(before));
        let alone = !figure(before) && !figure(words.get(at + 2));
        let readable = matches!(first.symbol.as_str(), "3" | "4" | "5");
        let strong = matches!(second.symbol.as_bytes(), [b'1'..=b'9']);
        if alone && readable && strong && first.span.meets(span) {
            out.push((
                format!("{}{}", first.symbol, second.symbol),
                first.probability * second.probability,
                Span::new(first.span.start_s, second.span.end_s),
            ));
        }
    }
    out
}

/// Whether it is a letter or a figure.
fn is_symbol(symbol: &str) -> bool {
    symbol.len() == 1
}

/// Adds up what was heard: said again is said more surely.
fn pooled(found: Vec<(String, f64, Evidence)>) -> Judged<String> {
    let mut not: BTreeMap<&str, f64> = BTreeMap::new();
    for (text, probability, _) in &found {
        *not.entry(text).or_insert(1.0) *= 1.0 - probability.clamp(0.0, 0.99);
    }
    // Odds against nothing having been said, shared among the values.
    let odds: BTreeMap<&str, f64> = not
        .iter()
        .map(|(text, not)| (*text, (1.0 - not) / not))
        .collect();
    let total = 1.0 + odds.values().sum::<f64>();
    let mut ranked: Vec<(&str, f64)> = odds
        .iter()
        .map(|(text, odds)| (*text, odds / total))
        .collect();
    ranked.sort_by(|one, other| other.1.total_cmp(&one.1));
    let Some((best, probability)) = ranked.first().copied() else {
        return Judged::unknown(Doubt::NotMadeOut);
    };
    let sure = probability >= LEAST;
    let from = usize::from(sure);
    Judged {
        value: sure.then(|| best.to_owned()),
        probability: sure.then_some(probability),
        alternatives: ranked[from..]
            .iter()
            .take(5)
            .map(|(text, probability)| Alternative {
                value: (*text).to_owned(),
                probability: *probability,
            })
            .collect(),
        evidence: found
            .iter()
            .filter(|(text, ..)| text == best)
            .map(|(_, _, evidence)| *evidence)
            .collect(),
        doubts: if probability < 0.8 {
            vec![Doubt::Faint]
        } else {
            Vec::new()
        },
    }
}

fn capital(word: &str) -> String {
    let mut text = word.to_owned();
    if let Some(first) = text.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    text
}
