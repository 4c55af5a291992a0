//! Fits how mentions of a call sign add up.

use jumpseat_values::Estimate;

use super::{FitExample, overs};
use crate::fitted::MentionPooling;
use crate::station;
use crate::{AssemblyInput, own_sign};

/// Rounds over all figures; each halves the steps.
const POOLING_ROUNDS: usize = 5;

/// No mention counts for more than itself: what sounds wrong once sounds wrong again, and
/// few drives would else make the fit sure of that which it heard twice.
const MOST_MENTION_SHARE: f64 = 1.0;

/// A true station costs at most the logarithm of this, so that one that was never heard
/// does not rule the fit.
const LEAST_STATION_LIKELIHOOD: f64 = 1e-3;

/// The figures under which the true call signs of the examples come out most probable, by
/// coordinate descent; then the map that makes the probabilities right as often as they
/// say.
pub fn fit_pooling(examples: &[FitExample]) -> MentionPooling {
    let heard: Vec<(AssemblyInput, &FitExample)> = examples
        .iter()
        .map(|example| {
            (
                own_sign::with_own_sign(&example.drive).into_owned(),
                example,
            )
        })
        .collect();
    let mut best = MentionPooling::default();
    let mut highest = worth(&heard, &best);
    for round in 0..POOLING_ROUNDS {
        let step = 0.5_f64.powi(round as i32);
        for change in 0..6 {
            for factor in [step.exp(), (-step).exp()] {
                let tried = changed(best, change, factor);
                let reached = worth(&heard, &tried);
                if reached > highest {
                    (best, highest) = (tried, reached);
                }
            }
        }
    }
    calibrated(&heard, best)
}

fn changed(mut pooling: MentionPooling, which: usize, factor: f64) -> MentionPooling {
    match which {
        0 => pooling.unheard = (pooling.unheard * factor).clamp(1e-6, 0.1),
        1 => pooling.letter = (pooling.letter * factor).clamp(1e-3, 0.9),
        2 => pooling.shape = (pooling.shape * factor).clamp(0.01, 1.0),
        3 => pooling.cut = (pooling.cut * factor).clamp(1e-3, 0.5),
        4 => pooling.sent = (pooling.sent * factor).clamp(0.05, MOST_MENTION_SHARE),
        _ => pooling.received = (pooling.received * factor).clamp(0.05, MOST_MENTION_SHARE),
    }
    pooling
}

/// Sum of the logarithms of the true stations' probabilities.
fn worth(heard: &[(AssemblyInput, &FitExample)], pooling: &MentionPooling) -> f64 {
    let mut sum = 0.0;
    for (drive, example) in heard {
        for (span, calls) in example.contacts.iter().zip(&example.calls) {
            let stations = station::station_candidates(drive, &overs(drive, span), span, pooling);
            for call in calls {
                let given = stations.iter().map(|one| given(&one.call, call));
                sum += given.fold(LEAST_STATION_LIKELIHOOD, f64::max).ln();
            }
        }
    }
    sum
}

/// The probability that a station is this one.
fn given(judged: &Estimate<String>, call: &str) -> f64 {
    if judged.value.as_deref() == Some(call) {
        return judged.probability.unwrap_or(0.0);
    }
    let other = judged.alternatives.iter().find(|other| other.value == call);
    other.map_or(0.0, |other| other.probability)
}

/// Logistic calibration (Platt, 1999) of the first station of every contact, by gradient
/// ascent on the log-likelihood, held towards doing nothing.
fn calibrated(heard: &[(AssemblyInput, &FitExample)], pooling: MentionPooling) -> MentionPooling {
    let mut stated = Vec::new();
    for (drive, example) in heard {
        for (span, calls) in example.contacts.iter().zip(&example.calls) {
            let stations = station::station_candidates(drive, &overs(drive, span), span, &pooling);
            let Some(first) = stations.first() else {
                continue;
            };
            let (Some(value), Some(p)) = (&first.call.value, first.call.probability) else {
                continue;
            };
            let inside = p.clamp(1e-3, 1.0 - 1e-3);
            stated.push(((inside / (1.0 - inside)).ln(), calls.contains(value)));
        }
    }
    let (mut slope, mut shift) = (1.0_f64, 0.0_f64);
    for _ in 0..4_000 {
        // Worth a few statements each.
        let (mut by_slope, mut by_shift) = (2.0 * (1.0 - slope), -0.5 * shift);
        for (logit, right) in &stated {
            let p = 1.0 / (1.0 + (-(slope * logit + shift)).exp());
            let error = f64::from(u8::from(*right)) - p;
            by_slope += error * logit;
            by_shift += error;
        }
        let many = 10.0 * stated.len().max(1) as f64;
        // Drives that the rest was fitted to may make it less sure, never surer.
        slope = (slope + by_slope / many).clamp(0.05, 1.0);
        shift = (shift + by_shift / many).min(0.0);
    }
    MentionPooling {
        slope,
        shift,
        ..pooling
    }
}
