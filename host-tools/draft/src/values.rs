//! Reports and names, pooled over the overs of a contact.

use std::collections::BTreeMap;

use crate::heard::{Heard, HeardText, HeardWord};
use crate::{Alternative, Direction, Doubt, Drive, Evidence, Judged, Span};

/// A figure pair with no word of reporting before it is a report with this share of
/// its probability: signs, roads and watts have figures, too.
const BARE: f64 = 0.3;
/// One that a word of reporting leads, or that 'and' joins, with this one.
const LED: f64 = 0.85;
/// A name without 'name' before it counts with this share.
const UNCALLED: f64 = 0.35;
/// One that follows a word with which people are addressed, with this one.
const ADDRESSED: f64 = 0.75;
/// Letters of a name follow one another within this time, from start to start, in seconds.
const LETTERS_S: f64 = 0.85;
/// What was spelled right after a name, letter by letter, with this one.
const SPELLED: f64 = 0.95;
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
                found.push((text, probability, evidence(index, at)));
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
        let letters = |said: &&HeardText| {
            let meant = |at: &usize| heard.words[*at].word.eq_ignore_ascii_case(&said.text);
            let near = |at: &usize| heard.words[*at].span.meets(&said.span);
            let at = (0..heard.words.len()).find(|at| meant(at) && near(at));
            at.is_some_and(|at| is_spelling(&heard.words, at))
        };
        let names = heard.names.iter().filter(|said| said.span.meets(span));
        for said in names.filter(|said| !letters(said)) {
            found.push((
                said.text.clone(),
                said.probability,
                evidence(index, said.span),
            ));
        }
    }
    for (index, heard) in heard(drive, overs, Direction::Tx) {
        for (at, word) in heard.words.iter().enumerate() {
            if !word.is_name || !word.span.meets(span) || is_spelling(&heard.words, at) {
                continue;
            }
            let before = at.checked_sub(1).map(|before| &heard.words[before]);
            let addressed = before.is_some_and(|one| ADDRESS.contains(&one.word.as_str()));
            let share = if addressed { ADDRESSED } else { UNCALLED };
            found.push((
                capital(&word.word),
                share * word.probability,
                evidence(index, word.span),
            ));
        }
    }
    for (index, heard) in heard(drive, overs, Direction::Rx) {
        for (text, probability, at) in spelled(&heard.words) {
            if at.meets(span) {
                found.push((text, SPELLED * probability, evidence(index, at)));
            }
        }
    }
    found.retain(|(text, ..)| !own.contains(text));
    pooled(found)
}

/// Words after which a name is the other operator's (common practice).
const ADDRESS: [&str; 6] = ["roger", "you", "thanks", "hello", "morning", "evening"];

/// Whether a word that is a name and a spelling word stands among letters: 'Mike' in a
/// call sign is nobody.
fn is_spelling(words: &[HeardWord], at: usize) -> bool {
    let word = &words[at];
    let near = |other: &HeardWord| {
        let apart =
            (other.span.start_s - word.span.end_s).max(word.span.start_s - other.span.end_s);
        is_symbol(&other.symbol) && apart < 0.8
    };
    let before = at.checked_sub(1).and_then(|before| words.get(before));
    is_symbol(&word.symbol) && (before.is_some_and(near) || words.get(at + 1).is_some_and(near))
}

/// Names that were spelled right after they were said: 'my name is Tom, Tango Oscar
/// Mike'. Whatever the name itself was taken for stands between; a pause ends the letters,
/// since a call sign often follows.
fn spelled(words: &[HeardWord]) -> Vec<(String, f64, Span)> {
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
        let led = words[at.saturating_sub(4)..at]
            .iter()
            .any(|word| word.word == "name");
        if led && (3..=8).contains(&run) {
            let run = &words[at..at + run];
            let text: String = run.iter().map(|word| word.symbol.as_str()).collect();
            out.push((
                capital(&text.to_lowercase()),
                run.iter().map(|word| word.probability).product(),
                Span::new(run[0].span.start_s, run[run.len() - 1].span.end_s),
            ));
        }
        at += run.max(1);
    }
    out
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

/// Words that lead a report (common practice).
const REPORTING: [&str; 7] = ["are", "you", "you're", "your", "is", "report", "signal"];

/// Two figures in a row, or joined by 'and', that stand alone: readability 3 to 5 and
/// strength 1 to 9. The probability holds the share that such a pair counts with.
fn bare_reports(words: &[HeardWord], span: &Span) -> Vec<(String, f64, Span)> {
    let figure = |at: Option<&HeardWord>| at.is_some_and(|word| is_symbol(&word.symbol));
    let mut out = Vec::new();
    for at in 0..words.len().saturating_sub(1) {
        let joined = words[at + 1].word == "and";
        let Some(second) = words.get(at + 1 + usize::from(joined)) else {
            continue;
        };
        let first = &words[at];
        let before = at.checked_sub(1).and_then(|before| words.get(before));
        let after = words.get(at + 2 + usize::from(joined));
        let alone = !figure(before) && !figure(after);
        let readable = matches!(first.symbol.as_str(), "3" | "4" | "5");
        let strong = matches!(second.symbol.as_bytes(), [b'1'..=b'9']);
        if alone && readable && strong && first.span.meets(span) {
            let led = before.is_some_and(|word| REPORTING.contains(&word.word.as_str()));
            let share = if led || joined { LED } else { BARE };
            out.push((
                format!("{}{}", first.symbol, second.symbol),
                share * first.probability * second.probability,
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
