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
    // A class that is no label leads back to the beginning, whichever it is: they are one.
    let mut classes = labels.to_vec();
    classes.sort_unstable();
    classes.dedup();
    let others = classes.len();
    let next_state = automaton(labels, &classes);
    // mass[j][k]: matched j labels so far, the last frame had the class k of `classes`;
    // all[j]: the same, or blanks since.
    let mut mass = vec![vec![0.0_f64; others]; n];
    let mut all = vec![0.0; n];
    all[0] = 1.0;
    let (mut new_mass, mut new_all) = (mass.clone(), all.clone());
    let mut found = 0.0;
    for row in rows {
        let total = sum(row);
        let p = |class: usize| f64::from(row[class]) / total;
        let named: f64 = classes.iter().map(|class| p(*class)).sum();
        let other = (1.0 - p(BLANK_CLASS) - named).max(0.0);
        new_mass.iter_mut().for_each(|cells| cells.fill(0.0));
        for (new, all) in new_all.iter_mut().zip(&all) {
            *new = all * p(BLANK_CLASS);
        }
        for (j, cells) in mass.iter().enumerate().filter(|(j, _)| all[*j] > 0.0) {
            new_all[0] += all[j] * other;
            for (k, class) in classes.iter().enumerate() {
                let (held, fresh) = (cells[k] * p(*class), (all[j] - cells[k]) * p(*class));
                new_mass[j][k] += held;
                new_all[j] += held;
                match next_state[j][k] {
                    next if next == n => found += fresh,
                    next => {
                        new_mass[next][k] += fresh;
                        new_all[next] += fresh;
                    }
                }
            }
        }
        std::mem::swap(&mut mass, &mut new_mass);
        std::mem::swap(&mut all, &mut new_all);
    }
    found.clamp(0.0, 1.0)
}

/// The sum of a row; four sums side by side, which the processor adds at once.
fn sum(row: &ClassRow) -> f64 {
    let (fours, rest) = row.as_chunks::<4>();
    let mut sums = [0.0_f64; 4];
    for four in fours {
        for (sum, p) in sums.iter_mut().zip(four) {
            *sum += f64::from(*p);
        }
    }
    sums.iter().sum::<f64>() + rest.iter().map(|p| f64::from(*p)).sum::<f64>()
}

/// Knuth, Morris and Pratt's automaton: the length matched after one of `classes` more.
fn automaton(labels: &[usize], classes: &[usize]) -> Vec<Vec<usize>> {
    let matched = |j: usize, class: usize| {
        let mut lengths = (1..=labels.len().min(j + 1)).rev();
        let fits = |k: &usize| labels[k - 1] == class && labels[..j].ends_with(&labels[..k - 1]);
        lengths.find(fits).unwrap_or(0)
    };
    let of_state = |j: usize| classes.iter().map(|class| matched(j, *class)).collect();
    (0..labels.len()).map(of_state).collect()
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
