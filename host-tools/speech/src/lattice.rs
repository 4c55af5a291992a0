//! Weighs every way in which a stretch can be read as call signs, strays and words, at once.
//!
//! The scores are composed with a small grammar: a call sign is worth what its form
//! is worth (`sign_form`), a locator what it is worth as one, and what belongs to neither is
//! weighed as what is said between signs (`between`). Forward and backward sums over the trellis
//! (Rabiner 1989, 'A tutorial on hidden Markov models', §III) give the probability of every sign
//! at its place. `lattice_state` has the states, `lattice_step` goes forward.
//! What was said before a sign does not multiply the states, so a sign said again in
//! a long stretch is read as well as one said alone.

use std::collections::HashMap;
use std::ops::Range;

use crate::between::BETWEEN_STATES;
use crate::ctc::ClassRow;
use crate::fold::{BLANK_CLASS, CLASSES};
use crate::lattice_state::LatticeStates;
use crate::lattice_step::{LatticeCell, LatticeWalk, LatticeWays};
use crate::sign_shape::PartialSign;

/// What is less probable than this in one step is left out.
const LEAST_PROBABILITY: f64 = 1e-6;

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

/// The signs in `rows`, each place on its own, in no order.
pub(crate) fn readings(rows: &[ClassRow]) -> Vec<SignReading> {
    let mut walk = LatticeWalk::new();
    let mut columns = vec![vec![LatticeCell::first()]];
    let mut ways: Vec<LatticeWays> = Vec::with_capacity(rows.len());
    for (step, row) in rows.iter().enumerate() {
        let (next, links) = walk.advance(&columns[step], row, step as u32 + 1);
        columns.push(next);
        ways.push(links);
    }
    let mut found: HashMap<PartialSign, Vec<(Range<usize>, f64)>> = HashMap::new();
    for (cell, p) in endings(&walk.states, rows, &columns, &ways) {
        let span = cell.from as usize - 1..cell.to as usize;
        let begun = walk.states.get(cell.state).begun;
        let places = found.entry(begun.said_once()).or_default();
        match places
            .iter_mut()
            .find(|(s, _)| s.start < span.end && span.start < s.end)
        {
            Some((_, sum)) => *sum += p,
            None => places.push((span, p)),
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

/// Every cell whose sign is whole there, with the probability of that, the first one first.
fn endings<'a>(
    states: &LatticeStates,
    rows: &[ClassRow],
    columns: &'a [Vec<LatticeCell>],
    ways: &[LatticeWays],
) -> Vec<(&'a LatticeCell, f64)> {
    let Some(last) = columns.last() else {
        return Vec::new();
    };
    let worth = |cell: &LatticeCell| states.get(cell.state).worth;
    let total: f64 = last.iter().map(|cell| cell.mass * worth(cell)).sum();
    // The share of the whole that goes on from each cell, and none from what was dropped.
    let mut rest: Vec<f64> = last.iter().map(worth).collect();
    for rest in &mut rest {
        *rest = if total > 0.0 { *rest / total } else { 0.0 };
    }
    // Backward, so the last one is found first.
    let mut out: Vec<(&LatticeCell, f64)> = Vec::new();
    for (cell, rest) in last.iter().zip(&rest).rev() {
        let p = cell.mass * rest * states.get(cell.state).sign_share;
        out.extend(Some((cell, p)).filter(|(_, p)| *p > LEAST_PROBABILITY));
    }
    rest.push(0.0);
    for ((row, ways), column) in rows.iter().zip(ways).zip(columns).rev() {
        let mut all = [0.0; BETWEEN_STATES];
        let mut said = [[0.0; CLASSES]; BETWEEN_STATES];
        for way in &ways.open {
            let p = way.weight * rest[way.target as usize];
            all[way.between] += p;
            said[way.between][way.class] += p;
        }
        let mut before = vec![0.0; column.len() + 1];
        for (k, cell) in column.iter().enumerate().rev() {
            let state = states.get(cell.state);
            let held = if cell.rested { BLANK_CLASS } else { state.last };
            let open = state.worth * (all[state.between] - said[state.between][held]).max(0.0);
            let [blank, again] = ways.held[k];
            before[k] = open
                + f64::from(row[BLANK_CLASS]) * rest[blank as usize]
                + f64::from(row[state.last]) * rest[again as usize];
            let closes = cell.mass * state.worth * state.sign_share / ways.total;
            if closes * all[state.between] <= LEAST_PROBABILITY {
                continue;
            }
            let open = ways.open.iter().rev();
            for way in open.filter(|way| way.between == state.between && way.class != held) {
                let p = closes * way.weight * rest[way.target as usize];
                out.extend(Some((cell, p)).filter(|(_, p)| *p > LEAST_PROBABILITY));
            }
        }
        for way in &ways.longer {
            before[way.source as usize] += way.weight * rest[way.target as usize];
        }
        before.iter_mut().for_each(|rest| *rest /= ways.total);
        rest = before;
    }
    out.reverse();
    out
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
