//! Fits the model to drives whose truth is known.

mod pooling;
mod shares;

use std::collections::BTreeMap;

pub use pooling::fit_pooling;
pub use shares::fit_shares;

use jumpseat_values::Span;

use crate::cut::{DriveEvent, events};
use crate::feature::{FEATURE_NAMES, FeatureScene, within};
use crate::model::SegmentScores;
use crate::{AssemblyInput, DraftRules, OverDirection};

/// Keeps weights small where the drives contain little evidence.
const WEIGHT_DECAY: f64 = 0.3;

/// A drive with its truth.
#[derive(Debug, Clone)]
pub struct FitExample {
    /// The drive.
    pub drive: AssemblyInput,
    /// From start to end of every conversation in which the operator took part.
    pub contacts: Vec<Span>,
    /// The stations of each of them.
    pub calls: Vec<Vec<String>>,
    /// What passed between the operator and each of these stations.
    pub passed: Vec<Vec<PassedValues>>,
}

/// What one station and the operator exchanged.
#[derive(Debug, Clone, Default)]
pub struct PassedValues {
    /// The report that the operator gave, if he gave one.
    pub sent: Option<String>,
    /// The one that he got.
    pub received: Option<String>,
    /// The other operator's name, if it was said.
    pub name: Option<String>,
}

struct PreparedExample {
    events: Vec<DriveEvent>,
    drive: AssemblyInput,
    truth: Vec<(usize, usize)>,
}

/// The weight of each feature, fitted by gradient ascent (Adam: Kingma and Ba, 2015) in `rounds`
/// steps; `progress` is called with the round and the mean log-probability of the truth.
pub fn fit(
    examples: &[FitExample],
    rounds: usize,
    progress: &mut dyn FnMut(usize, f64),
) -> BTreeMap<String, f64> {
    let prepared: Vec<PreparedExample> = examples.iter().map(prepare).collect();
    let mut weights = vec![0.0; FEATURE_NAMES.len()];
    let (mut mean, mut square) = (weights.clone(), weights.clone());
    for round in 1..=rounds {
        let mut slope: Vec<f64> = weights
            .iter()
            .map(|weight| -WEIGHT_DECAY * weight)
            .collect();
        let mut total = 0.0;
        for one in &prepared {
            let scene = FeatureScene::of(&one.drive, &one.events);
            let (score, part) = SegmentScores::of(&scene, &weights).gradient(&one.truth);
            total += score;
            slope
                .iter_mut()
                .zip(part)
                .for_each(|(sum, part)| *sum += part);
        }
        let rate = if round * 2 < rounds { 0.1 } else { 0.03 };
        for (id, weight) in weights.iter_mut().enumerate() {
            mean[id] = 0.9 * mean[id] + 0.1 * slope[id];
            square[id] = 0.99 * square[id] + 0.01 * slope[id] * slope[id];
            let steps = round as i32;
            let (m, v) = (
                mean[id] / (1.0 - 0.9_f64.powi(steps)),
                square[id] / (1.0 - 0.99_f64.powi(steps)),
            );
            *weight += rate * m / (v.sqrt() + 1e-8);
        }
        progress(round, total / prepared.len().max(1) as f64);
    }
    let named = FEATURE_NAMES.iter().zip(weights);
    let round = |weight: f64| (weight * 1e4).round() / 1e4;
    named
        .map(|(name, weight)| ((*name).to_owned(), round(weight)))
        .collect()
}

fn prepare(example: &FitExample) -> PreparedExample {
    let events = events(&example.drive, &DraftRules::default());
    let mut truth: Vec<(usize, usize)> = Vec::new();
    for contact in &example.contacts {
        let mut inside = events
            .iter()
            .enumerate()
            .filter(|(_, event)| within(event, contact))
            .map(|(at, _)| at);
        let Some(first) = inside.next() else { continue };
        let last = inside.next_back().unwrap_or(first);
        let last = (first + 1..=last)
            .take_while(|at| FeatureScene::of(&example.drive, &events).goes_on(*at))
            .last()
            .unwrap_or(first);
        let worked = events[first..=last]
            .iter()
            .any(|event| event.direction == OverDirection::Tx);
        let free = truth.last().is_none_or(|(_, before)| *before < first);
        let turns = events[first..=last]
            .windows(2)
            .filter(|pair| pair[0].direction != pair[1].direction);
        if turns.count() > 1 && worked && free {
            truth.push((first, last));
        }
    }
    PreparedExample {
        events,
        drive: example.drive.clone(),
        truth,
    }
}

/// The overs that a stretch meets.
fn overs(drive: &AssemblyInput, span: &Span) -> Vec<usize> {
    let inside = |over: &crate::DriveOver| Span::new(over.start_s, over.end_s).meets(span);
    let overs = drive.overs.iter().enumerate();
    overs
        .filter(|(_, over)| inside(over))
        .map(|(at, _)| at)
        .collect()
}
