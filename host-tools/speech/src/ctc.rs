//! Exact CTC sums: how probable it is that something was said in a stretch.
//!
//! Graves and others (2006), 'Connectionist temporal classification'.

use crate::fold::{BLANK_CLASS, CLASSES};

/// A row of class probabilities.
pub(crate) type ClassRow = [f32; CLASSES];

/// Probability that `labels` was said somewhere in `rows`, one label right after the
/// other, whatever came before and after: the share of all CTC paths.
///
/// Runs in time `rows × labels`; an empty `labels` is certain.
pub(crate) fn probability_within(rows: &[ClassRow], labels: &[usize]) -> f64 {
    let n = labels.len();
    if n == 0 {
        return 1.0;
    }
    let next_state = automaton(labels);
    // mass[j][c]: matched j labels so far, the last frame had class c;
    // gap[j][c]: the same, but blanks since; the last label was c (BLANK: none yet).
    let mut mass = vec![[0.0_f64; CLASSES]; n];
    let mut gap = vec![0.0_f64; n];
    gap[0] = 1.0;
    let mut found = 0.0;
    let (mut new_mass, mut new_gap) = (mass.clone(), gap.clone());
    for row in rows {
        let total: f64 = row.iter().map(|p| f64::from(*p)).sum();
        let p = |c: usize| f64::from(row[c]) / total;
        new_mass.fill([0.0; CLASSES]);
        new_gap.fill(0.0);
        for j in 0..n {
            let held: f64 = mass[j].iter().sum();
            let all = held + gap[j];
            if all <= 0.0 {
                continue;
            }
            new_gap[j] += all * p(BLANK_CLASS);
            for c in 1..CLASSES {
                new_mass[j][c] += mass[j][c] * p(c);
                let fresh = (all - mass[j][c]) * p(c);
                match next_state[j][c] {
                    k if k == n => found += fresh,
                    k => new_mass[k][c] += fresh,
                }
            }
        }
        std::mem::swap(&mut mass, &mut new_mass);
        std::mem::swap(&mut gap, &mut new_gap);
    }
    found.clamp(0.0, 1.0)
}

/// Knuth, Morris and Pratt's automaton: the length matched after one more label.
fn automaton(labels: &[usize]) -> Vec<[usize; CLASSES]> {
    let matched = |j: usize, c: usize| {
        let mut lengths = (1..=labels.len().min(j + 1)).rev();
        let fits = |k: &usize| labels[k - 1] == c && labels[..j].ends_with(&labels[..k - 1]);
        lengths.find(fits).unwrap_or(0)
    };
    let states = 0..labels.len();
    states
        .map(|j| std::array::from_fn(|c| matched(j, c)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::alignment::{self, LabelScores};

    /// Log-probability that `labels` (classes, no blanks) is all that was said in `rows`;
    /// checked against PyTorch, so that the paths of these tests are right.
    fn log_probability(rows: &[ClassRow], labels: &[usize]) -> f64 {
        let logs: Vec<f32> = rows.iter().flatten().map(|p| p.ln()).collect();
        alignment::log_probability(LabelScores::new(&logs, CLASSES), labels)
    }

    fn rows(seed: u64, count: usize) -> Vec<ClassRow> {
        let mut state = seed;
        (0..count)
            .map(|_| {
                // As many draws as `model/ctc_reference.py` makes for a row.
                let draws: [f32; 38] = std::array::from_fn(|_| {
                    state = state
                        .wrapping_mul(6364136223846793005)
                        .wrapping_add(1442695040888963407);
                    (state >> 40) as f32 / 16_777_216.0
                });
                let mut row: ClassRow = [0.0; CLASSES];
                row[..4].copy_from_slice(&draws[..4]);
                let sum: f32 = row.iter().sum();
                row.iter_mut().for_each(|p| *p /= sum);
                row
            })
            .collect()
    }

    /// Every path of classes 0 to 3, collapsed, with its probability.
    fn paths(rows: &[ClassRow]) -> Vec<(Vec<usize>, f64)> {
        let mut all = vec![(Vec::<usize>::new(), 1.0_f64)];
        for row in rows {
            all = all
                .into_iter()
                .flat_map(|(path, p)| {
                    (0..4).map(move |c| {
                        let mut longer = path.clone();
                        longer.push(c);
                        (longer, p * f64::from(row[c]))
                    })
                })
                .collect();
        }
        all.into_iter()
            .map(|(mut path, p)| {
                path.dedup();
                path.retain(|c| *c != BLANK_CLASS);
                (path, p)
            })
            .collect()
    }

    #[test]
    fn sums_equal_those_over_every_single_path() {
        for seed in 1..6 {
            let rows = rows(seed, 7);
            let paths = paths(&rows);
            for labels in [
                vec![],
                vec![1],
                vec![1, 2],
                vec![2, 2],
                vec![1, 2, 1],
                vec![3, 3, 1],
            ] {
                let whole: f64 = paths
                    .iter()
                    .filter(|(l, _)| *l == labels)
                    .map(|(_, p)| p)
                    .sum();
                assert!((log_probability(&rows, &labels).exp() - whole).abs() < 1e-6);
                let within: f64 = paths
                    .iter()
                    .filter(|(l, _)| {
                        labels.is_empty() || l.windows(labels.len()).any(|w| w == labels)
                    })
                    .map(|(_, p)| p)
                    .sum();
                let got = probability_within(&rows, &labels);
                assert!((got - within).abs() < 1e-5, "{labels:?}: {got} {within}");
            }
        }
    }

    #[test]
    fn sums_equal_those_of_pytorch() {
        // Printed by model/ctc_reference.py (PyTorch 2.15.0): seed, labels, value.
        let reference = [
            (11, &[1][..], -41.136455789),
            (11, &[1, 2][..], -32.661905100),
            (11, &[2, 2][..], -32.687164661),
            (11, &[1, 2, 1, 3, 3][..], -24.841623494),
            (11, &[3, 1, 3, 1, 2, 2, 2][..], -20.980905287),
            (12, &[1][..], -36.869016540),
            (12, &[1, 2][..], -31.542640610),
            (12, &[2, 2][..], -31.619779870),
            (12, &[1, 2, 1, 3, 3][..], -23.662842327),
            (12, &[3, 1, 3, 1, 2, 2, 2][..], -20.044052452),
        ];
        for (seed, labels, value) in reference {
            let got = log_probability(&rows(seed, 30), labels);
            assert!(
                (got - value).abs() < 1e-5,
                "{seed} {labels:?}: {got} {value}"
            );
        }
    }
}
