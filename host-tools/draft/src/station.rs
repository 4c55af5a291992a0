//! Finds the stations of a contact: pools what was heard of call signs over all its overs.
//!
//! Probabilities are pooled, not votes: a sign that is second everywhere may come out
//! first. What the operator transmits is clean and local, and operators repeat the
//! other station's sign, so it counts for more than what came back.

use jumpseat_vocabulary::WordSense;
use std::collections::BTreeMap;

use jumpseat_place::callsign;
use jumpseat_values::{Alternative, Doubt, DraftDoubt, Estimate, Evidence, Span};

use crate::drive::{AssemblyInput, OverDirection};
use crate::fitted::MentionPooling;
use crate::heard::{HeardSign, HeardWord};
use crate::over_stretch::OverStretch;
use crate::sign_distance::distance;
use crate::stroke;

/// A sign that was worked before is this much more probable than another.
const WORKED_BEFORE_FACTOR: f64 = 8.0;
/// Alternatives named beside the first.
const MOST_SIGN_ALTERNATIVES: usize = 5;
/// Less probable readings are not named.
const LEAST_SIGN_PROBABILITY: f64 = 0.002;
/// A sign that the operator asks about counts with this share: the answer may be no.
const ASKED_SHARE: f64 = 0.3;
/// He asks within this time after it, in seconds.
const ASKED_WITHIN_S: f64 = 2.5;

/// One time that some station's sign was said.
#[derive(Debug, Clone)]
struct SignMention {
    direction: OverDirection,
    evidence: OverStretch,
    /// Every time that it was said in this over.
    spans: Vec<Span>,
    candidates: Vec<(String, f64)>,
    /// How much it counts, 0 to 1.
    weight: f64,
}

impl SignMention {
    /// Where it was said.
    fn everywhere(&self) -> impl Iterator<Item = OverStretch> {
        self.spans
            .iter()
            .map(|span| OverStretch::new(self.evidence.over, *span))
    }
}

/// A station as it was heard in a contact.
#[derive(Debug, Clone)]
pub(crate) struct StationCandidate {
    pub(crate) call: Estimate<String>,
    /// Times that the operator said its sign, as a sum of probabilities.
    pub(crate) called: f64,
    /// Times that it, or others, said it.
    pub(crate) answered: f64,
    /// First and last time.
    pub(crate) span: Span,
    /// When the operator said its sign first; infinite if never.
    pub(crate) called_s: f64,
    /// Where its sign was said.
    pub(crate) said: Vec<OverStretch>,
}

/// The stations named in these overs within `span`, those that the operator called first.
pub(crate) fn station_candidates(
    drive: &AssemblyInput,
    overs: &[usize],
    span: &Span,
    pooling: &MentionPooling,
) -> Vec<StationCandidate> {
    let mut groups: Vec<Vec<SignMention>> = Vec::new();
    let mut mentions = mentions(drive, overs, span);
    mentions.sort_by(|one, other| strength(other).total_cmp(&strength(one)));
    for mention in mentions {
        let near = groups
            .iter_mut()
            .map(|group| (likeness(group, &mention, pooling.letter), group))
            .max_by(|one, other| one.0.total_cmp(&other.0));
        match near {
            Some((likeness, group)) if likeness > 0.1 => group.push(mention),
            _ => groups.push(vec![mention]),
        }
    }
    let mut stations: Vec<StationCandidate> = groups
        .iter()
        .map(|group| pool(drive, group, pooling))
        .collect();
    let weight = |one: &StationCandidate| 2.0 * one.called + one.answered;
    stations.sort_by(|one, other| weight(other).total_cmp(&weight(one)));
    stations
}

fn mentions(drive: &AssemblyInput, overs: &[usize], span: &Span) -> Vec<SignMention> {
    let mut out = Vec::new();
    for &index in overs {
        let Some(over) = drive.overs.get(index) else {
            continue;
        };
        let words = over.heard.as_ref().map_or(&[][..], |heard| &heard.words);
        for sign in over.heard.iter().flat_map(|heard| &heard.signs) {
            let first = sign.spans.iter().find(|said| said.meets(span));
            let Some(first) = first else { continue };
            // What is the operator's own sign, or a piece of it, is explained by that.
            let candidates: Vec<(String, f64)> = without_farewell(words, sign)
                .into_iter()
                .filter(|(text, _)| {
                    !drive.is_own(text) && callsign::weigh(text.as_bytes()).is_some()
                })
                .collect();
            if candidates.iter().map(|(_, share)| share).sum::<f64>() < 0.15 {
                continue;
            }
            out.push(SignMention {
                direction: over.direction,
                evidence: OverStretch::new(index, *first),
                spans: sign.spans.clone(),
                candidates,
                weight: if over.direction == OverDirection::Tx && is_asked(words, sign) {
                    ASKED_SHARE
                } else {
                    1.0
                },
            });
        }
    }
    out
}

/// The readings of a sign without the 'three' of a 'seven three' right before it.
fn without_farewell(words: &[HeardWord], sign: &HeardSign) -> Vec<(String, f64)> {
    let mut out: Vec<(String, f64)> = Vec::new();
    let farewell = sign.spans.iter().any(|span| {
        let begins = |word: &HeardWord| (word.span.start_s - span.start_s).abs() < 0.2;
        let at = words.iter().position(begins);
        let three = |at: usize| words[at].symbol == "3";
        let seven = |at: Option<usize>| at.is_some_and(|at| words[at].symbol == "7");
        at.is_some_and(|at| three(at) && seven(at.checked_sub(1)))
    });
    for (text, share) in &sign.candidates {
        let shorter = text.strip_prefix('3').filter(|_| farewell);
        let text = shorter.unwrap_or(text);
        match out.iter_mut().find(|(known, _)| known == text) {
            Some((_, sum)) => *sum += share,
            None => out.push((text.to_owned(), *share)),
        }
    }
    out.sort_by(|one, other| other.1.total_cmp(&one.1));
    out
}

/// Whether the operator asks about it: 'is that correct?'
fn is_asked(words: &[HeardWord], sign: &HeardSign) -> bool {
    let end_s = sign.spans.iter().map(|span| span.end_s).fold(0.0, f64::max);
    let soon = |word: &&HeardWord| (end_s..end_s + ASKED_WITHIN_S).contains(&word.span.start_s);
    words
        .iter()
        .filter(soon)
        .any(|word| word.means(WordSense::Correct))
}

fn strength(mention: &SignMention) -> f64 {
    let best = mention.candidates.first().map_or(0.0, |(_, share)| *share);
    best + if mention.direction == OverDirection::Tx {
        0.5
    } else {
        0.0
    }
}

/// How far a mention may be of the station that a group is of, 0 to 1.
fn likeness(group: &[SignMention], mention: &SignMention, letter: f64) -> f64 {
    let one = |other: &SignMention| {
        let mut best = 0.0_f64;
        for (sign, share) in mention.candidates.iter().take(5) {
            for (text, other_share) in other.candidates.iter().take(5) {
                let apart = distance(sign, text);
                if apart <= 2 {
                    best =
                        best.max((share * other_share).sqrt() * letter.powi(apart as i32).sqrt());
                }
            }
        }
        best
    };
    group.iter().map(one).fold(0.0, f64::max)
}

/// The probability that one mention gives to a sign.
fn share(mention: &SignMention, sign: &str, pooling: &MentionPooling) -> f64 {
    let listed = mention.candidates.iter().find(|(text, _)| text == sign);
    let unlisted = mention
        .candidates
        .iter()
        .map(|(text, share)| share * likely(text, sign, pooling))
        .fold(0.0, f64::max);
    listed
        .map_or(0.0, |(_, share)| *share)
        .max(pooling.unheard.max(unlisted))
}

/// How likely a text is heard for a sign that it is not. Fading takes letters off the ends
/// of a sign far more often than anything puts one there or changes one.
fn likely(text: &str, sign: &str, pooling: &MentionPooling) -> f64 {
    let lost = sign.len().saturating_sub(text.len());
    if lost > 0 && (sign.starts_with(text) || sign.ends_with(text)) {
        return pooling.cut.powi(lost as i32);
    }
    0.1 * pooling.letter.powi(distance(text, sign) as i32)
}

fn pool(
    drive: &AssemblyInput,
    group: &[SignMention],
    pooling: &MentionPooling,
) -> StationCandidate {
    let counts = |mention: &SignMention| {
        mention.weight
            * match mention.direction {
                OverDirection::Tx => pooling.sent,
                OverDirection::Rx => pooling.received,
            }
    };
    let mut scores: BTreeMap<&str, f64> = BTreeMap::new();
    for (sign, _) in group.iter().flat_map(|mention| &mention.candidates) {
        if scores.contains_key(sign.as_str()) {
            continue;
        }
        let shape = callsign::weigh(sign.as_bytes()).map_or(-10.0, |weight| f64::from(weight.log));
        let known = drive.worked.iter().any(|worked| worked == sign);
        let prior = pooling.shape * shape
            + if known {
                WORKED_BEFORE_FACTOR.ln()
            } else {
                0.0
            };
        let said: f64 = group
            .iter()
            .map(|mention| counts(mention) * share(mention, sign, pooling).ln())
            .sum();
        scores.insert(sign, prior + said);
    }
    let nothing: f64 = group
        .iter()
        .map(|mention| {
            let all: f64 = mention.candidates.iter().map(|(_, share)| share).sum();
            counts(mention) * (1.0 - all).max(pooling.unheard).ln()
        })
        .sum();
    let highest = scores.values().copied().fold(nothing, f64::max);
    let total: f64 = scores
        .values()
        .map(|score| (score - highest).exp())
        .sum::<f64>()
        + (nothing - highest).exp();
    let mut ranked: Vec<(String, f64)> = scores
        .iter()
        .map(|(sign, score)| ((*sign).to_owned(), (score - highest).exp() / total))
        .collect();
    ranked.sort_by(|one, other| other.1.total_cmp(&one.1));
    let evidence: Vec<OverStretch> = group.iter().map(|mention| mention.evidence).collect();
    let (addition, sure) = stroke::addition(drive, &evidence);
    for (sign, probability) in &mut ranked {
        *sign = stroke::with(&addition, sign);
        *probability *= sure;
    }
    state(&mut ranked, pooling);
    let mass = |direction: OverDirection| -> f64 {
        let said = group
            .iter()
            .filter(|mention| mention.direction == direction);
        said.map(|mention| {
            mention
                .candidates
                .iter()
                .map(|(_, share)| share)
                .sum::<f64>()
        })
        .sum()
    };
    let start_s = group
        .iter()
        .map(|one| one.evidence.start_s)
        .fold(f64::INFINITY, f64::min);
    let end_s = group
        .iter()
        .map(|one| one.evidence.end_s)
        .fold(0.0, f64::max);
    StationCandidate {
        call: estimate_call(ranked, group),
        called: mass(OverDirection::Tx),
        answered: mass(OverDirection::Rx),
        span: Span::new(start_s, end_s),
        called_s: group
            .iter()
            .filter(|one| one.direction == OverDirection::Tx)
            .map(|one| one.evidence.start_s)
            .fold(f64::INFINITY, f64::min),
        said: group.iter().flat_map(SignMention::everywhere).collect(),
    }
}

/// Turns probabilities, likeliest first, into such that are right as often as they say;
/// those after the first share what it leaves as they did.
fn state(ranked: &mut [(String, f64)], pooling: &MentionPooling) {
    let Some(((_, first), others)) = ranked.split_first_mut() else {
        return;
    };
    let stated = pooling.stated(*first);
    let left = (1.0 - stated) / (1.0 - *first).max(1e-9);
    *first = stated;
    for (_, probability) in others {
        *probability = (*probability * left).min(stated);
    }
}

fn estimate_call(ranked: Vec<(String, f64)>, group: &[SignMention]) -> Estimate<String> {
    let mut ranked = ranked.into_iter();
    let mut evidence: Vec<OverStretch> = group.iter().map(|mention| mention.evidence).collect();
    evidence.sort_by(|one, other| one.start_s.total_cmp(&other.start_s));
    let Some((sign, probability)) = ranked.next() else {
        return Estimate::unknown(DraftDoubt::NoSignHeard);
    };
    let mut doubts: Vec<Doubt> = Vec::new();
    let alternatives: Vec<Alternative<String>> = ranked
        .filter(|(_, probability)| *probability >= LEAST_SIGN_PROBABILITY)
        .take(MOST_SIGN_ALTERNATIVES)
        .map(|(value, probability)| Alternative { value, probability })
        .collect();
    if let Some(second) = alternatives
        .first()
        .filter(|second| second.probability > 0.05)
    {
        let differ = differing(&sign, &second.value);
        doubts.push(
            match differ {
                Some((one, other)) => DraftDoubt::Letter { one, other },
                None => DraftDoubt::SeveralReadings,
            }
            .into(),
        );
    }
    if group.len() == 1 {
        doubts.push(DraftDoubt::HeardOnce.into());
    }
    Estimate {
        probability: Some(probability),
        alternatives,
        evidence: evidence.into_iter().map(Evidence::from).collect(),
        ..Estimate::new(Some(sign), doubts)
    }
}

/// The one place in which two signs of a length differ.
fn differing(one: &str, other: &str) -> Option<(char, char)> {
    if one.len() != other.len() {
        return None;
    }
    let mut pairs = one.chars().zip(other.chars()).filter(|(a, b)| a != b);
    let first = pairs.next()?;
    pairs.next().is_none().then_some(first)
}
