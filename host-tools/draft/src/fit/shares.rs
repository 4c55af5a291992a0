//! Fits with what share each way of saying something counts.

use super::{FitExample, PassedValues, overs};
use crate::attribution::SpeakerAttribution;
use crate::fitted::MentionPooling;
use crate::spoken::{SpokenFormShares, SpokenValue, ranked};
use crate::spoken_values::StationPart;
use crate::station;
use crate::{OverDirection, own_sign};

/// Rounds over all shares; each halves the steps.
const SHARE_ROUNDS: usize = 5;
/// A truth costs at most the logarithm of this.
const LEAST_TRUTH_LIKELIHOOD: f64 = 0.02;

/// What was said of one thing in one contact, and what it was.
struct ShareCase {
    said: Vec<SpokenValue>,
    truth: Option<String>,
}

/// The shares under which what was really said comes out most probable, or nothing where
/// nothing was, by coordinate descent.
pub fn fit_shares(examples: &[FitExample], pooling: &MentionPooling) -> SpokenFormShares {
    let cases: Vec<ShareCase> = examples
        .iter()
        .flat_map(|example| cases(example, pooling))
        .collect();
    let mut best = SpokenFormShares::default();
    let mut highest = worth(&cases, &best);
    for round in 0..SHARE_ROUNDS {
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

fn worth(cases: &[ShareCase], shares: &SpokenFormShares) -> f64 {
    let of = |case: &ShareCase| {
        let ranked = ranked(&case.said, shares);
        let given = match &case.truth {
            Some(truth) => ranked
                .iter()
                .find(|(text, _)| text == truth)
                .map(|one| one.1),
            None => Some(1.0 - ranked.iter().map(|one| one.1).sum::<f64>()),
        };
        given.unwrap_or(0.0).max(LEAST_TRUTH_LIKELIHOOD).ln()
    };
    cases.iter().map(of).sum()
}

fn cases(example: &FitExample, pooling: &MentionPooling) -> Vec<ShareCase> {
    let drive = &own_sign::with_own_sign(&example.drive).into_owned();
    let mut out = Vec::new();
    let contacts = example
        .contacts
        .iter()
        .zip(&example.calls)
        .zip(&example.passed);
    for ((span, calls), passed) in contacts {
        let overs = overs(drive, span);
        let mut stations = station::station_candidates(drive, &overs, span, pooling);
        // Every station as if its sign were known, so that only its words are judged.
        stations.retain(|one| {
            calls
                .iter()
                .any(|call| one.call.value.as_ref() == Some(call))
        });
        let company = SpeakerAttribution::of(drive, &stations);
        for (call, passed) in calls.iter().zip(passed) {
            let known = stations
                .iter()
                .position(|one| one.call.value.as_ref() == Some(call));
            let part = StationPart {
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

fn of_part(part: &StationPart<'_>, passed: &PassedValues) -> [ShareCase; 3] {
    [
        ShareCase {
            said: part.reports(OverDirection::Tx),
            truth: passed.sent.clone(),
        },
        ShareCase {
            said: part.reports(OverDirection::Rx),
            truth: passed.received.clone(),
        },
        ShareCase {
            said: part.names(),
            truth: passed.name.clone(),
        },
    ]
}
