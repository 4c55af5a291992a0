//! Weighs every way in which a stretch can be read as call signs, strays and words, at once.
//!
//! The scores are composed with a small grammar: a call sign is worth what its form
//! is worth (`sign_form`), a locator what it is worth as one, and what belongs to neither is
//! weighed as what is said between signs (`between`). Forward and backward sums over the trellis (Rabiner 1989, 'A tutorial
//! on hidden Markov models', §III) give the probability of every sign at its place.
//! What was said before a sign does not multiply the states, so a sign said again in
//! a long stretch is read as well as one said alone.

use std::collections::HashMap;
use std::ops::Range;

use crate::between::{AFTER_OTHER, beginning, stray};
use crate::ctc::ClassRow;
use crate::fold::{BLANK_CLASS, CLASSES};
use crate::sign_shape::PartialSign;

/// States that are carried from step to step.
const BEAM_STATES: usize = 320;
/// States of less than this share of the best are dropped.
const BEAM_LEAST_SHARE: f64 = 1e-6;
/// Classes less probable than this are not tried in a step.
const LEAST_CLASS_PROBABILITY: f32 = 2e-5;

/// A call sign at one place.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct SignReading {
    /// Capital letters and figures.
    pub(crate) sign: String,
    /// Steps from its first to its last symbol.
    pub(crate) steps: Range<usize>,
    /// Probability that it was said there, 0 to 1.
    pub(crate) probability: f64,
}

/// The part of the past that the future depends on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
struct LatticeState {
    /// The unfinished sign; empty between signs.
    begun: PartialSign,
    /// The state between signs (`between`); the first of them within one.
    between: u8,
    /// The class said last, `BLANK_CLASS` at first.
    last: u8,
    /// Whether there was a blank since.
    rested: bool,
}

/// A state at a step.
struct LatticeCell {
    state: LatticeState,
    mass: f64,
    /// Steps in which the unfinished sign began, and in which its last symbol came, on the
    /// best way here.
    from: u32,
    to: u32,
    best: f64,
    /// The share of the whole that goes on from here; filled in by the backward pass.
    rest: f64,
}

/// A way from a cell of one step to a cell of the next.
struct LatticeArc {
    source: u32,
    target: u32,
    weight: f64,
    /// The share of it with which the sign of the source is complete, 0 to 1.
    closes: f64,
}

/// The signs in `rows`, each place on its own, in no order.
pub(crate) fn readings(rows: &[ClassRow]) -> Vec<SignReading> {
    let start = LatticeState {
        begun: PartialSign::default(),
        between: AFTER_OTHER as u8,
        last: BLANK_CLASS as u8,
        rested: true,
    };
    let mut columns = vec![vec![cell(start, 1.0, 0, 0)]];
    let mut ways: Vec<Vec<LatticeArc>> = Vec::with_capacity(rows.len());
    for (step, row) in rows.iter().enumerate() {
        let (next, links) = advance(&columns[step], row, step as u32 + 1);
        columns.push(next);
        ways.push(links);
    }
    backward(&mut columns, &ways);
    let mut found: HashMap<PartialSign, Vec<(Range<usize>, f64)>> = HashMap::new();
    let mut add = |c: &LatticeCell, p: f64| {
        if p > 1e-6 {
            let span = c.from as usize - 1..c.to as usize;
            let places = found.entry(c.state.begun.said_once()).or_default();
            match places
                .iter_mut()
                .find(|(s, _)| s.start < span.end && span.start < s.end)
            {
                Some((_, sum)) => *sum += p,
                None => places.push((span, p)),
            }
        }
    };
    for (step, links) in ways.iter().enumerate() {
        for way in links.iter().filter(|w| w.closes > 0.0) {
            let (a, b) = (
                &columns[step][way.source as usize],
                &columns[step + 1][way.target as usize],
            );
            add(a, a.mass * way.weight * way.closes * b.rest);
        }
    }
    for c in columns.last().into_iter().flatten() {
        if !c.state.begun.is_empty() {
            add(c, c.mass * c.rest * sign_share(&c.state));
        }
    }
    let named = found.into_iter().flat_map(|(begun, places)| {
        places.into_iter().map(move |(steps, p)| SignReading {
            sign: begun.to_string(),
            steps,
            probability: p.min(1.0),
        })
    });
    named.collect()
}

/// What an unfinished sign is worth as a whole, a sign or another; 1 between signs.
fn worth(state: &LatticeState) -> f64 {
    match state.begun.is_empty() {
        true => 1.0,
        false => state.begun.form().sign_weight() + state.begun.form().other_weight(),
    }
}

/// How much of that it is worth as a sign.
fn sign_share(state: &LatticeState) -> f64 {
    state.begun.form().sign_weight() / worth(state).max(f64::MIN_POSITIVE)
}

fn cell(state: LatticeState, mass: f64, from: u32, to: u32) -> LatticeCell {
    LatticeCell {
        state,
        mass,
        from,
        to,
        best: mass,
        rest: 0.0,
    }
}

/// One step on. Masses of the new column add up to one.
fn advance(
    column: &[LatticeCell],
    row: &ClassRow,
    step: u32,
) -> (Vec<LatticeCell>, Vec<LatticeArc>) {
    let mut next: Vec<LatticeCell> = Vec::with_capacity(4 * column.len());
    let mut index: HashMap<LatticeState, u32> = HashMap::with_capacity(4 * column.len());
    let mut ways: Vec<LatticeArc> = Vec::with_capacity(6 * column.len());
    let tried: Vec<usize> = (1..CLASSES)
        .filter(|c| row[*c] > LEAST_CLASS_PROBABILITY)
        .collect();
    for (source, old) in column.iter().enumerate() {
        let mut go = |state: LatticeState, weight: f64, closes: f64, from: u32, to: u32| {
            let mass = old.mass * weight;
            if mass <= 0.0 {
                return;
            }
            let at = *index.entry(state).or_insert_with(|| {
                next.push(cell(state, 0.0, from, to));
                next.len() as u32 - 1
            });
            let target = &mut next[at as usize];
            target.mass += mass;
            if mass >= target.best {
                (target.best, target.from, target.to) = (mass, from, to);
            }
            ways.push(LatticeArc {
                source: source as u32,
                target: at,
                weight,
                closes,
            });
        };
        let state = old.state;
        let rested = LatticeState {
            rested: true,
            ..state
        };
        go(rested, f64::from(row[BLANK_CLASS]), 0.0, old.from, old.to);
        if !state.rested {
            let again = f64::from(row[usize::from(state.last)]);
            go(state, again, 0.0, old.from, old.to);
        }
        // Between signs, or where the unfinished one is complete, anything may come.
        let (free, closes) = (worth(&state), sign_share(&state));
        let between = match state.begun.is_empty() {
            true => usize::from(state.between),
            false => AFTER_OTHER,
        };
        let nothing = PartialSign::default();
        for &class in &tried {
            if usize::from(state.last) == class && !state.rested {
                continue;
            }
            let p = f64::from(row[class]);
            let to = |begun, between: usize| LatticeState {
                begun,
                between: between as u8,
                last: class as u8,
                rested: false,
            };
            if free > 0.0 {
                let (after, weight) = stray(between, class);
                go(to(nothing, after), p * free * weight, closes, 0, 0);
                if let Some((begun, _)) = nothing.with(class) {
                    let weight = p * free * beginning(between, class);
                    go(to(begun, AFTER_OTHER), weight, closes, step, step);
                }
            }
            if !state.begun.is_empty()
                && let Some((begun, weight)) = state.begun.with(class)
            {
                go(to(begun, AFTER_OTHER), p * weight, 0.0, old.from, step);
            }
        }
    }
    narrow(next, ways)
}

/// Keeps the best states, and scales their masses to add up to one.
fn narrow(
    mut cells: Vec<LatticeCell>,
    mut ways: Vec<LatticeArc>,
) -> (Vec<LatticeCell>, Vec<LatticeArc>) {
    // A rare form, or a beginning of one, pays only when it is whole: it is looked at as if
    // it had paid.
    let promise = |c: &LatticeCell| match c.state.begun.is_empty() {
        true => c.mass,
        false => c.mass * c.state.begun.form().promise(),
    };
    let promises: Vec<f64> = cells.iter().map(promise).collect();
    let mut order: Vec<u32> = (0..cells.len() as u32).collect();
    order.sort_by(|a, b| promises[*b as usize].total_cmp(&promises[*a as usize]));
    let top = order.first().map_or(0.0, |k| promises[*k as usize]);
    order.truncate(BEAM_STATES);
    order.retain(|k| promises[*k as usize] > top * BEAM_LEAST_SHARE);
    let mut moved = vec![u32::MAX; cells.len()];
    for (new, old) in order.iter().enumerate() {
        moved[*old as usize] = new as u32;
    }
    let total: f64 = order.iter().map(|k| cells[*k as usize].mass).sum();
    ways.retain_mut(|way| {
        way.target = moved[way.target as usize];
        way.weight /= total;
        way.target != u32::MAX
    });
    for cell in &mut cells {
        cell.mass /= total;
    }
    let mut kept: Vec<Option<LatticeCell>> = cells.into_iter().map(Some).collect();
    let kept = order.iter().filter_map(|k| kept[*k as usize].take());
    (kept.collect(), ways)
}

/// Fills in how much of the whole goes on from every cell.
fn backward(columns: &mut [Vec<LatticeCell>], ways: &[Vec<LatticeArc>]) {
    let Some(last) = columns.last_mut() else {
        return;
    };
    let total: f64 = last.iter().map(|c| c.mass * worth(&c.state)).sum();
    for c in last {
        c.rest = if total > 0.0 {
            worth(&c.state) / total
        } else {
            0.0
        };
    }
    for step in (0..ways.len()).rev() {
        let (before, after) = columns.split_at_mut(step + 1);
        for way in &ways[step] {
            before[step][way.source as usize].rest +=
                way.weight * after[0][way.target as usize].rest;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exhaustive::{every_cut, every_text, rows};
    use crate::fold::{WORD_CLASS, class_of};

    #[test]
    fn sums_equal_those_over_every_path_and_every_cut() {
        let classes = [
            BLANK_CLASS,
            class_of('K'),
            class_of('7'),
            class_of('Q'),
            WORD_CLASS,
        ];
        for seed in 1..5 {
            let rows = rows(seed, 7, &classes);
            let mut total = 0.0;
            let mut wanted: HashMap<String, f64> = HashMap::new();
            for (text, p) in every_text(&rows, &classes) {
                for (w, signs) in every_cut(&text) {
                    total += p * w;
                    for sign in signs {
                        *wanted.entry(sign).or_default() += p * w;
                    }
                }
            }
            let mut got: HashMap<String, f64> = HashMap::new();
            for reading in readings(&rows) {
                *got.entry(reading.sign).or_default() += reading.probability;
            }
            for (sign, mass) in wanted.iter().filter(|(_, m)| **m / total > 1e-3) {
                let p = got.get(sign).copied().unwrap_or_default();
                assert!(
                    (p - mass / total).abs() < 5e-3,
                    "{sign}: {p} {}",
                    mass / total
                );
            }
        }
    }

    #[test]
    fn a_sign_said_twice_has_two_places() {
        let mut rows: Vec<ClassRow> = Vec::new();
        for symbol in "KB0QSEKB0QSE".chars() {
            let mut row: ClassRow = [0.0; CLASSES];
            row[class_of(symbol)] = 0.9;
            row[BLANK_CLASS] = 0.1;
            rows.push(row);
            let mut pause: ClassRow = [0.0; CLASSES];
            pause[BLANK_CLASS] = 1.0;
            rows.push(pause);
        }
        let found = readings(&rows);
        let places: Vec<_> = found.iter().filter(|r| r.sign == "KB0QSE").collect();
        assert_eq!(places.len(), 2, "{found:?}");
        let others = found.iter().filter(|r| r.sign != "KB0QSE");
        let best = others.map(|r| r.probability).fold(0.0, f64::max);
        assert!(places.iter().all(|r| r.probability > best), "{found:?}");
    }
}
