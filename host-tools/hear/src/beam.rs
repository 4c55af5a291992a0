//! CTC prefix beam search over folded scores: the most probable readings of a stretch.

use std::collections::HashMap;

use crate::ctc::Row;
use crate::fold::{BLANK, CLASSES};

/// Readings that are carried from step to step.
const WIDTH: usize = 48;
/// Classes less probable than this are not tried in a step.
const LEAST: f32 = 1e-4;

/// One reading of a stretch.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Reading {
    /// Classes said, in order.
    pub(crate) labels: Vec<u8>,
    /// The step in which each began.
    pub(crate) steps: Vec<u32>,
    /// Probability among the readings found, 0 to 1.
    pub(crate) probability: f64,
}

#[derive(Clone, Default)]
struct Entry {
    blank: f64,
    label: f64,
    steps: Vec<u32>,
}

/// The readings of `rows`, most probable first, probabilities adding up to one.
pub(crate) fn readings(rows: &[Row]) -> Vec<Reading> {
    let start = Entry {
        blank: 1.0,
        ..Entry::default()
    };
    let mut beam: Vec<(Vec<u8>, Entry)> = vec![(Vec::new(), start)];
    for (step, row) in rows.iter().enumerate() {
        beam = advance(&beam, row, step as u32);
    }
    let total: f64 = beam.iter().map(|(_, e)| e.blank + e.label).sum();
    beam.into_iter()
        .map(|(labels, e)| Reading {
            labels,
            steps: e.steps,
            probability: (e.blank + e.label) / total,
        })
        .collect()
}

fn advance(beam: &[(Vec<u8>, Entry)], row: &Row, step: u32) -> Vec<(Vec<u8>, Entry)> {
    let mut next: HashMap<Vec<u8>, Entry> = HashMap::with_capacity(beam.len() * 4);
    for (labels, entry) in beam {
        let all = entry.blank + entry.label;
        let kept = next.entry(labels.clone()).or_default();
        kept.blank += all * f64::from(row[BLANK]);
        if let Some(last) = labels.last() {
            kept.label += entry.label * f64::from(row[usize::from(*last)]);
        }
        // A reading that already stood keeps the steps of that time.
        kept.steps.clone_from(&entry.steps);
        for class in (1..CLASSES).filter(|c| row[*c] > LEAST) {
            let repeats = labels
                .last()
                .is_some_and(|last| usize::from(*last) == class);
            let from = if repeats { entry.blank } else { all };
            let mut longer = labels.clone();
            longer.push(class as u8);
            let grown = next.entry(longer).or_default();
            grown.label += from * f64::from(row[class]);
            if grown.steps.is_empty() {
                grown.steps.clone_from(&entry.steps);
                grown.steps.push(step);
            }
        }
    }
    let mut sorted: Vec<(Vec<u8>, Entry)> = next.into_iter().collect();
    let mass = |e: &Entry| e.blank + e.label;
    sorted.sort_by(|a, b| {
        mass(&b.1)
            .total_cmp(&mass(&a.1))
            .then_with(|| a.0.cmp(&b.0))
    });
    sorted.truncate(WIDTH);
    let top = sorted.first().map_or(1.0, |(_, e)| mass(e)).max(1e-300);
    for (_, e) in &mut sorted {
        e.blank /= top;
        e.label /= top;
    }
    sorted
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ctc;

    #[test]
    fn the_best_reading_has_its_exact_probability() {
        let row = |c: usize, p: f32| -> Row {
            let mut row = [0.0; CLASSES];
            row[c] = p;
            row[BLANK] += 0.9 - p;
            row[5] += 0.1;
            row
        };
        let rows = [row(1, 0.7), row(BLANK, 0.5), row(1, 0.6), row(2, 0.8)];
        let found = readings(&rows);
        let total: f64 = found.iter().map(|r| r.probability).sum();
        assert!((total - 1.0).abs() < 1e-9);
        for reading in &found[..3] {
            let labels: Vec<usize> = reading.labels.iter().map(|l| usize::from(*l)).collect();
            let exact = ctc::log_probability(&rows, &labels).exp();
            assert!((reading.probability - exact).abs() < 1e-3, "{labels:?}");
            assert_eq!(reading.steps.len(), labels.len());
        }
    }
}
