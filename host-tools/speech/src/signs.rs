//! Finds call signs in folded scores, with probabilities and alternatives.
//!
//! Every stretch between long pauses and clear words is read in all ways at once
//! (`lattice`). What sounds like the same sign said again is pooled: probabilities,
//! not votes.

use std::ops::Range;

use strsim::levenshtein;

use crate::ctc::{self, ClassRow};
use crate::fold::{ANNOUNCING_CLASS, BLANK_CLASS, FoldedScores, WORD_CLASS, composed_classes};
use crate::grammar;
use crate::lattice;
use crate::repeat::{self, RepeatedSign};
use crate::sign_shape;

/// So many steps (1.8 s) from one letter to the next end a stretch: a slow word lasts up to
/// 0.9 s, and a pause as long.
const LONGEST_PAUSE_STEPS: usize = 45;
/// A word that announces something is one from this probability on, and read with it.
const CLEAR_ANNOUNCEMENT_PROBABILITY: f32 = 0.5;
/// Longest stretch read at once, in steps (16 s).
const LONGEST_READ_STEPS: usize = 400;
/// Alternatives less probable than this are dropped, before and after pooling.
const LEAST_READING_PROBABILITY: f64 = 1e-4;
const LEAST_POOLED_PROBABILITY: f64 = 0.003;
/// A stretch of fewer steps than this has no sign twice.
const LEAST_REPEAT_STEPS: usize = 30;
/// How much more a sign is worth when it is the one said just before: far less than one
/// in all signs that there are, because the two times are not heard independently.
const REPEAT_WORTH: f64 = 1e5;
/// A sign that is worth less than this when it is said again is left out; against one.
const LEAST_REPEAT_WORTH: f64 = 1e-9;
/// At most so many readings are tried as signs said again.
const REPEAT_CANDIDATES: usize = 60;
/// A slot that is a sign with at least this probability counts as one time that it was said.
const CLEAR_SIGN_PROBABILITY: f64 = 0.25;
/// The probability of an alternative that a slot does not list, so that one bad repeat does
/// not rule it out.
const UNSEEN_SIGN_PROBABILITY: f64 = 2e-4;

/// A sign with such a probability is in doubt, and its stretch is heard a second time.
const DOUBTFUL_PROBABILITIES: Range<f64> = 0.03..0.97;

/// A call sign heard once or several times in an over.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct DetectedSign {
    /// Alternatives and their probabilities, most probable first; they add up to one at most.
    pub(crate) alternatives: Vec<(String, f64)>,
    /// Steps of every time it was said, first and end.
    pub(crate) steps: Vec<Range<usize>>,
}

impl DetectedSign {
    /// Whether its stretch is worth hearing a second time.
    pub(crate) fn is_in_doubt(&self) -> bool {
        let first = self.alternatives.first().map_or(0.0, |(_, p)| *p);
        DOUBTFUL_PROBABILITIES.contains(&first)
    }
}

/// All call signs in `scores`, in the order in which they were first said.
pub(crate) fn find(scores: &FoldedScores) -> Vec<DetectedSign> {
    let slots: Vec<DetectedSign> = stretches(scores)
        .into_iter()
        .flat_map(|span| slots(scores, span))
        .collect();
    pool(slots)
}

/// Probability that `sign` was said somewhere in `span`, whatever else was said.
pub(crate) fn probability(scores: &FoldedScores, span: Range<usize>, sign: &str) -> f64 {
    let rows = scores.rows(span);
    let ways = sign_shape::spellings(sign).into_iter();
    let said = ways.map(|way| ctc::probability_within(rows, &way.labels));
    said.sum::<f64>().min(1.0)
}

/// Spans with letters or figures in them, cut at pauses and at words that are clear.
fn stretches(scores: &FoldedScores) -> Vec<Range<usize>> {
    let rows = scores.rows(0..scores.len());
    let (mut out, mut start, mut last, mut heard) = (Vec::new(), None, 0, 0.0_f32);
    let mut announced = None;
    for (step, row) in rows.iter().enumerate() {
        // A word that writes several letters begins no sign, but may be within one.
        let composed: f32 = row[composed_classes()].iter().sum();
        let word = row[WORD_CLASS] + row[ANNOUNCING_CLASS];
        let word = word + if start.is_none() { composed } else { 0.0 };
        let symbol = 1.0 - row[BLANK_CLASS] - word;
        let clear_word = word > 0.9;
        if row[ANNOUNCING_CLASS] > CLEAR_ANNOUNCEMENT_PROBABILITY {
            announced = Some(step);
        }
        let over = start
            .is_some_and(|s| step - last > LONGEST_PAUSE_STEPS || step - s > LONGEST_READ_STEPS);
        if let Some(s) = start.filter(|_| over || clear_word) {
            if heard > 1.0 {
                out.push(s..(last + 5).min(step));
            }
            (start, heard) = (None, 0.0);
        }
        if symbol > 0.02 && !clear_word {
            let near = announced.filter(|word| step - word < LONGEST_PAUSE_STEPS);
            start = start.or(near).or(Some(step.saturating_sub(3)));
            last = step;
            heard += symbol;
        }
    }
    if let Some(s) = start.filter(|_| heard > 1.0) {
        out.push(s..(last + 5).min(rows.len()));
    }
    out
}

/// The signs of one stretch, each with its alternatives.
fn slots(scores: &FoldedScores, span: Range<usize>) -> Vec<DetectedSign> {
    let rows = scores.rows(span.clone());
    let mut all = lattice::readings(rows);
    all.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    let again = said_again(rows, &all);
    all.retain(|r| r.probability > LEAST_READING_PROBABILITY);
    let mut out: Vec<DetectedSign> = Vec::new();
    let whole = again.as_ref().map(|f| f.steps[0].start..f.steps[1].end);
    for reading in all {
        let steps = reading.steps.start..reading.steps.end + 5;
        if whole.as_ref().is_some_and(|w| overlap(w, &steps)) {
            continue;
        }
        let said = (reading.sign, reading.probability);
        match out.iter_mut().find(|slot| overlap(&slot.steps[0], &steps)) {
            Some(slot) => slot.alternatives.push(said),
            None => out.push(DetectedSign {
                alternatives: vec![said],
                steps: vec![steps],
            }),
        }
    }
    out.extend(again);
    for steps in out.iter_mut().flat_map(|slot| &mut slot.steps) {
        *steps = span.start + steps.start..span.start + steps.end;
    }
    out.sort_by_key(|slot| slot.steps[0].start);
    out
}

/// A sign said twice or more in `rows`, if that is more probable than not.
fn said_again(rows: &[ClassRow], readings: &[lattice::SignReading]) -> Option<DetectedSign> {
    if rows.len() < LEAST_REPEAT_STEPS {
        return None;
    }
    let all = grammar::sum(rows);
    let mut signs: Vec<&str> = Vec::new();
    for reading in readings {
        if signs.len() < REPEAT_CANDIDATES && !signs.contains(&reading.sign.as_str()) {
            signs.push(&reading.sign);
        }
    }
    let most = signs
        .into_iter()
        .map(|sign| (sign, REPEAT_WORTH * repeat::most_repeated(&all, sign)));
    let most: Vec<(&str, f64)> = most.collect();
    if most.iter().map(|(_, most)| most).sum::<f64>() < 1.0 {
        return None;
    }
    let mut said: Vec<(&str, RepeatedSign)> = most
        .into_iter()
        .filter(|(_, most)| *most > LEAST_REPEAT_WORTH)
        .map(|(sign, _)| sign)
        .map(|sign| (sign, repeat::repeated(&all, sign)))
        .filter(|(_, r)| r.mass > 0.0)
        .collect();
    said.sort_by(|a, b| b.1.mass.total_cmp(&a.1.mass));
    let total: f64 = said.iter().map(|(_, r)| REPEAT_WORTH * r.mass).sum();
    if total < 1.0 {
        return None;
    }
    let steps = said.first()?.1.steps.clone();
    let alternatives = said
        .iter()
        .map(|(sign, r)| (sign.to_string(), REPEAT_WORTH * r.mass / (1.0 + total)))
        .filter(|(_, p)| *p > LEAST_POOLED_PROBABILITY)
        .collect();
    Some(DetectedSign {
        alternatives,
        steps: steps.map(|s| s.start..s.end + 5).to_vec(),
    })
}

fn overlap(a: &Range<usize>, b: &Range<usize>) -> bool {
    let shared = a.end.min(b.end).saturating_sub(a.start.max(b.start));
    2 * shared > a.len().min(b.len())
}

/// Joins slots that sound like one sign said again. A slot that is hardly a sign, beside
/// one that it resembles, is a poor reading of the same words and no second time.
fn pool(slots: Vec<DetectedSign>) -> Vec<DetectedSign> {
    let (clear, faint): (Vec<DetectedSign>, Vec<DetectedSign>) = slots
        .into_iter()
        .partition(|slot| mass(slot) >= CLEAR_SIGN_PROBABILITY);
    let mut out: Vec<Vec<DetectedSign>> = Vec::new();
    for slot in clear {
        match out.iter_mut().find(|group| alike(&group[0], &slot)) {
            Some(group) => group.push(slot),
            None => out.push(vec![slot]),
        }
    }
    for slot in faint {
        if mass(&slot) > LEAST_POOLED_PROBABILITY
            && !out.iter().any(|group| alike(&group[0], &slot))
        {
            out.push(vec![slot]);
        }
    }
    let mut found: Vec<DetectedSign> = out.into_iter().map(joined).collect();
    found.sort_by_key(|f| f.steps[0].start);
    found
}

/// Probability that a slot is a sign at all.
fn mass(slot: &DetectedSign) -> f64 {
    slot.alternatives.iter().map(|(_, p)| p).sum()
}

/// Whether the likeliest sign of one is among the other's, or nearly.
fn alike(a: &DetectedSign, b: &DetectedSign) -> bool {
    let top = |f: &DetectedSign| {
        f.alternatives
            .first()
            .map(|(s, _)| s.clone())
            .unwrap_or_default()
    };
    let (x, y) = (top(a), top(b));
    let among = |f: &DetectedSign, s: &str| f.alternatives.iter().any(|(t, _)| t == s);
    among(a, &y) || among(b, &x) || levenshtein(&x, &y) <= 1
}

fn joined(mut group: Vec<DetectedSign>) -> DetectedSign {
    if group.len() == 1 {
        let mut alone = group.remove(0);
        alone
            .alternatives
            .retain(|(_, p)| *p > LEAST_POOLED_PROBABILITY);
        return alone;
    }
    let mut signs: Vec<String> = group
        .iter()
        .flat_map(|f| f.alternatives.iter().map(|(s, _)| s.clone()))
        .collect();
    signs.sort();
    signs.dedup();
    // What a slot does not list is not looked up by what was said somewhere in it: a
    // shorter sign stands in every longer one.
    let share = |slot: &DetectedSign, sign: &str| {
        let listed = slot.alternatives.iter().find(|(s, _)| s == sign);
        listed.map_or(0.0, |(_, p)| *p)
    };
    let product = |sign: &str| {
        group
            .iter()
            .map(|slot| share(slot, sign).max(UNSEEN_SIGN_PROBABILITY))
            .product::<f64>()
    };
    let none: f64 = group
        .iter()
        .map(|slot| (1.0 - mass(slot)).max(UNSEEN_SIGN_PROBABILITY))
        .product();
    let mut alternatives: Vec<(String, f64)> =
        signs.iter().map(|s| (s.clone(), product(s))).collect();
    let total = none + alternatives.iter().map(|(_, p)| p).sum::<f64>();
    for (_, p) in &mut alternatives {
        *p /= total;
    }
    alternatives.sort_by(|a, b| b.1.total_cmp(&a.1));
    alternatives.retain(|(_, p)| *p > LEAST_POOLED_PROBABILITY);
    DetectedSign {
        alternatives,
        steps: group.into_iter().flat_map(|f| f.steps).collect(),
    }
}
