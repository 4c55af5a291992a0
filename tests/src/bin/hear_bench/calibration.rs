//! Fits and shows how often a sign is right to which the recogniser gives some probability.

use std::fmt::Write;

use crate::outcome::JudgedOutcome;
use crate::set::JudgingItem;

/// Where the lines of the map meet.
const MAP_KNOTS: [f64; 7] = [0.0, 0.2, 0.4, 0.6, 0.8, 0.93, 1.0];

/// Whether the map is fitted to this item: every other sign, every other file without one.
/// The rest is for reporting.
fn fitted(item: &JudgingItem) -> bool {
    let number = item
        .file
        .split(['-', '.'])
        .find_map(|part| part.parse::<u32>().ok());
    number.is_some_and(|n| n % 2 == 1)
}

/// The knots of the map from the decoder's probability to the share that is right: least
/// squares over all readings of the fitted half, then made to rise.
pub(crate) fn fit(items: &[JudgingItem], outcomes: &[JudgedOutcome]) -> Vec<(f64, f64)> {
    let half = items.iter().zip(outcomes).filter(|(i, _)| fitted(i));
    let readings: Vec<(f64, f64)> = half
        .flat_map(|(item, o)| {
            let right = |text: &str| item.sign.as_deref() == Some(text);
            o.raw
                .iter()
                .map(move |(text, p)| (*p, f64::from(u8::from(right(text)))))
        })
        .collect();
    let mut heights: Vec<f64> = MAP_KNOTS.to_vec();
    // One height after the other, the others held: the sum is quadratic in each.
    for _ in 0..500 {
        for k in 1..MAP_KNOTS.len() {
            let (mut up, mut down) = (1e-6 * MAP_KNOTS[k], 1e-6);
            for (p, right) in &readings {
                let (share, rest) = parts(*p, k, &heights);
                up += share * (right - rest);
                down += share * share;
            }
            let most = heights.get(k + 1).copied().unwrap_or(1.0);
            heights[k] = (up / down).clamp(heights[k - 1], most);
        }
    }
    MAP_KNOTS.into_iter().zip(heights).collect()
}

/// The weight of knot `k` at `p`, and what the other knots give there.
fn parts(p: f64, k: usize, heights: &[f64]) -> (f64, f64) {
    let weight = |j: usize| {
        let (at, left) = (MAP_KNOTS[j], j.checked_sub(1).map(|i| MAP_KNOTS[i]));
        match (left, MAP_KNOTS.get(j + 1)) {
            (Some(left), _) if p <= at && p > left => (p - left) / (at - left),
            (_, Some(right)) if p >= at && p < *right => (right - p) / (right - at),
            _ => 0.0,
        }
    };
    let others = (0..MAP_KNOTS.len()).filter(|j| *j != k);
    (weight(k), others.map(|j| weight(j) * heights[j]).sum())
}

/// How often the first sign is right, by the probability that it was given; of the half
/// that the map was not fitted to.
pub(crate) fn table(pairs: &[(&JudgingItem, &JudgedOutcome)], out: &mut String) {
    let _ = writeln!(
        out,
        "\n| probability given | signs | right % |\n| --- | --- | --- |"
    );
    for bin in 0..5 {
        let low = f64::from(bin) * 0.2;
        let high = low + if bin == 4 { 0.2 + 1e-9 } else { 0.2 };
        let inside: Vec<bool> = pairs
            .iter()
            .filter(|(i, _)| i.sign.is_some() && !fitted(i))
            .filter_map(|(_, o)| o.signs.first().map(|s| (s.1, o.exact)))
            .filter(|(p, _)| (low..high).contains(p))
            .map(|(_, exact)| exact)
            .collect();
        if !inside.is_empty() {
            let right = inside.iter().filter(|e| **e).count();
            let _ = writeln!(
                out,
                "| {low:.1} to {:.1} | {} | {:.0} |",
                low + 0.2,
                inside.len(),
                100.0 * right as f64 / inside.len() as f64
            );
        }
    }
}
