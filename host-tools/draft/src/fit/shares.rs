//! Fits with what share each way of saying something counts.

use super::{Example, Passed, overs};
use crate::company::Company;
use crate::fitted::Pooling;
use crate::said::{Said, Shares, ranked};
use crate::station;
use crate::values::Part;
use crate::{Direction, own};

/// Rounds over all shares; each halves the steps.
const ROUNDS: usize = 5;
/// A truth costs at most the logarithm of this.
const LEAST: f64 = 0.02;

/// What was said of one thing in one contact, and what it was.
struct Case {
    said: Vec<Said>,
    truth: Option<String>,
}

/// The shares under which what was really said comes out most probable, or nothing where
/// nothing was, by coordinate descent.
pub fn shares(examples: &[Example], pooling: &Pooling) -> Shares {
    let cases: Vec<Case> = examples
        .iter()
        .flat_map(|example| cases(example, pooling))
        .collect();
    let mut best = Shares::default();
    let mut highest = worth(&cases, &best);
    for round in 0..ROUNDS {
        let step = 0.5_f64.powi(round as i32);
        for change in 0..best.fitted().len() {
            for shift in [step, -step] {
                let mut tried = best;
                let share = &mut *tried.fitted()[change];
                // In logits, so that it stays between 0 and 1.
                let logit = (*share / (1.0 - *share)).ln() + shift;
                *share = (1.0 / (1.0 + (-logit).exp())).clamp(0.02, 0.98);
                let reached = worth(&cases, &tried);
                if reached > highest {
                    (best, highest) = (tried, reached);
                }
            }
        }
    }
    best
}

fn worth(cases: &[Case], shares: &Shares) -> f64 {
    let of = |case: &Case| {
        let ranked = ranked(&case.said, shares);
        let given = match &case.truth {
            Some(truth) => ranked
                .iter()
                .find(|(text, _)| text == truth)
                .map(|one| one.1),
            None => Some(1.0 - ranked.iter().map(|one| one.1).sum::<f64>()),
        };
        given.unwrap_or(0.0).max(LEAST).ln()
    };
    cases.iter().map(of).sum()
}

fn cases(example: &Example, pooling: &Pooling) -> Vec<Case> {
    let drive = &own::with_own_sign(&example.drive).into_owned();
    let mut out = Vec::new();
    let contacts = example
        .contacts
        .iter()
        .zip(&example.calls)
        .zip(&example.passed);
    for ((span, calls), passed) in contacts {
        let overs = overs(drive, span);
        let mut stations = station::heard(drive, &overs, span, pooling);
        // Every station as if its sign were known, so that only its words are judged.
        stations.retain(|one| {
            calls
                .iter()
                .any(|call| one.call.value.as_ref() == Some(call))
        });
        let company = Company::of(drive, &stations);
        for (call, passed) in calls.iter().zip(passed) {
            let known = stations
                .iter()
                .position(|one| one.call.value.as_ref() == Some(call));
            let part = Part {
                drive,
                overs: &overs,
                span: *span,
                company: &company,
                station: known.unwrap_or(0),
            };
            out.extend(of_part(&part, passed));
        }
    }
    out
}

fn of_part(part: &Part<'_>, passed: &Passed) -> [Case; 3] {
    [
        Case {
            said: part.reports(Direction::Tx),
            truth: passed.sent.clone(),
        },
        Case {
            said: part.reports(Direction::Rx),
            truth: passed.received.clone(),
        },
        Case {
            said: part.names(),
            truth: passed.name.clone(),
        },
    ]
}
