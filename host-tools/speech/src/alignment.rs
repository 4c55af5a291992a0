//! Where the letters of a known text were said, and how probable they are there: CTC
//! paths through the letters' output.

use std::ops::Range;

/// The output that stands for no label.
const BLANK: usize = 0;

/// Log-probabilities, row after row.
#[derive(Debug, Clone, Copy)]
pub(crate) struct LabelScores<'a> {
    values: &'a [f32],
    outputs: usize,
}

impl<'a> LabelScores<'a> {
    /// `values`, `outputs` (at least one) a row.
    pub(crate) fn new(values: &'a [f32], outputs: usize) -> Self {
        Self { values, outputs }
    }

    /// The number of rows.
    pub(crate) fn len(self) -> usize {
        self.values.len() / self.outputs
    }

    /// Some of the rows; none where there are no such rows.
    pub(crate) fn part(self, rows: Range<usize>) -> Self {
        let range = rows.start * self.outputs..rows.end * self.outputs;
        let values = self.values.get(range).unwrap_or_default();
        Self { values, ..self }
    }

    fn rows(self) -> impl Iterator<Item = &'a [f32]> {
        self.values.chunks_exact(self.outputs)
    }

    /// Log-probability of the likeliest path of all.
    pub(crate) fn best(self) -> f64 {
        self.rows()
            .map(|row| row.iter().copied().fold(f32::NEG_INFINITY, f32::max))
            .map(f64::from)
            .sum()
    }
}

/// What a path may be at: blanks before, between and after `labels`, and these.
fn state_output(labels: &[usize], state: usize) -> usize {
    if state.is_multiple_of(2) {
        BLANK
    } else {
        labels[state / 2]
    }
}

/// How many states back a path may come from: 2 where no blank is needed between two labels.
fn longest_stride(labels: &[usize], state: usize) -> usize {
    let output = state_output(labels, state);
    match state {
        0 => 0,
        2.. if output != BLANK && output != state_output(labels, state - 2) => 2,
        _ => 1,
    }
}

/// The log-probability of output `output`, or of nothing if the row has no such output.
fn log_p(row: &[f32], output: usize) -> f64 {
    match row.get(output) {
        Some(score) if !score.is_nan() => f64::from(*score),
        _ => f64::NEG_INFINITY,
    }
}

/// Log-probability that `labels` (outputs, no blanks) is all that was said in `scores`.
pub(crate) fn log_probability(scores: LabelScores<'_>, labels: &[usize]) -> f64 {
    let width = 2 * labels.len() + 1;
    let mut sums = vec![f64::NEG_INFINITY; width];
    // Before the first row a path is as if at the first blank.
    let mut first = true;
    for row in scores.rows() {
        sums = (0..width)
            .map(|state| {
                let came = if first {
                    if state < 2 { 0.0 } else { f64::NEG_INFINITY }
                } else {
                    added(&sums[state - longest_stride(labels, state)..=state])
                };
                came + log_p(row, state_output(labels, state))
            })
            .collect();
        first = false;
    }
    match (first, labels.is_empty()) {
        (true, true) => 0.0,
        (true, false) => f64::NEG_INFINITY,
        _ => added(&sums[width.saturating_sub(2)..]),
    }
}

/// The log of the sum of the probabilities with these logs.
fn added(logs: &[f64]) -> f64 {
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if most == f64::NEG_INFINITY {
        return most;
    }
    most + logs.iter().map(|log| (log - most).exp()).sum::<f64>().ln()
}

/// The rows of each of `labels` (outputs, no blanks) on the likeliest path that says them all:
/// in order, none empty. Nothing where there is no such path: too few rows, or impossible.
pub(crate) fn align(scores: LabelScores<'_>, labels: &[usize]) -> Option<Vec<Range<usize>>> {
    let width = 2 * labels.len() + 1;
    let strides: Vec<usize> = (0..width).map(|s| longest_stride(labels, s)).collect();
    let mut best = vec![f64::NEG_INFINITY; width];
    let mut came: Vec<u8> = Vec::with_capacity(scores.len() * width);
    for row in scores.rows() {
        let first = came.is_empty();
        best = (0..width)
            .map(|state| {
                let mut from = (0, best[state]);
                for (stride, tried) in
                    (1_u8..).zip(best[state - strides[state]..state].iter().rev())
                {
                    if *tried > from.1 {
                        from = (stride, *tried);
                    }
                }
                if first {
                    from = (0, if state < 2 { 0.0 } else { f64::NEG_INFINITY });
                }
                came.push(from.0);
                from.1 + log_p(row, state_output(labels, state))
            })
            .collect();
    }
    let last = (width.saturating_sub(2)..width).max_by(|a, b| best[*a].total_cmp(&best[*b]))?;
    if !best[last].is_finite() {
        return None;
    }
    let mut out = vec![0..0; labels.len()];
    let mut state = last;
    for (row, came) in came.chunks_exact(width).enumerate().rev() {
        if let Some(rows) = out.get_mut(state / 2).filter(|_| !state.is_multiple_of(2)) {
            rows.end = rows.end.max(row + 1);
            rows.start = row;
        }
        state -= usize::from(came[state]);
    }
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three outputs by chance.
    fn rows(seed: u32, count: usize) -> Vec<f32> {
        let mut state = seed;
        let mut out = Vec::new();
        for _ in 0..count {
            let row: Vec<f32> = (0..3)
                .map(|_| {
                    state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                    (state >> 8) as f32 / 16_777_216.0 + 1e-4
                })
                .collect();
            let total: f32 = row.iter().sum();
            out.extend(row.iter().map(|p| (p / total).ln()));
        }
        out
    }

    /// Every path with its log-probability.
    fn paths(scores: LabelScores<'_>) -> Vec<(Vec<usize>, f64)> {
        let mut all = vec![(Vec::new(), 0.0)];
        for row in scores.rows() {
            all = all
                .iter()
                .flat_map(|(path, sum): &(Vec<usize>, f64)| {
                    (0..3).map(move |k| ([&path[..], &[k]].concat(), sum + log_p(row, k)))
                })
                .collect();
        }
        all
    }

    fn said(path: &[usize]) -> Vec<usize> {
        let mut said = path.to_vec();
        said.dedup();
        said.retain(|k| *k != BLANK);
        said
    }

    #[test]
    fn the_sum_and_the_best_path_are_those_of_every_single_path() {
        for seed in 1..9 {
            let values = rows(seed, 6);
            let scores = LabelScores::new(&values, 3);
            let paths = paths(scores);
            for labels in [vec![], vec![1], vec![1, 2], vec![2, 2], vec![1, 2, 1, 1]] {
                let fitting = paths.iter().filter(|(path, _)| said(path) == labels);
                let sum: f64 = fitting.clone().map(|(_, log)| log.exp()).sum();
                let got = log_probability(scores, &labels).exp();
                assert!((got - sum).abs() < 1e-6, "{seed} {labels:?}: {got} {sum}");
                let (path, _) = fitting.max_by(|a, b| a.1.total_cmp(&b.1)).unwrap();
                let mut wanted: Vec<Range<usize>> = Vec::new();
                for (row, output) in path.iter().enumerate().filter(|(_, k)| **k != BLANK) {
                    match wanted.last_mut() {
                        Some(last) if last.end == row && path[row - 1] == *output => {
                            last.end = row + 1;
                        }
                        _ => wanted.push(row..row + 1),
                    }
                }
                assert_eq!(align(scores, &labels), Some(wanted), "{seed} {labels:?}");
            }
            assert_eq!(align(scores, &[1, 1, 1, 1]), None);
            assert_eq!(align(scores, &[7]), None);
        }
    }

    #[test]
    fn no_rows_and_odd_scores_say_nothing() {
        let none = LabelScores::new(&[], 3);
        assert_eq!(align(none, &[1]), None);
        assert_eq!(log_probability(none, &[]), 0.0);
        for odd in [f32::NAN, f32::NEG_INFINITY] {
            let values = [odd; 12];
            let scores = LabelScores::new(&values, 3);
            assert_eq!(align(scores, &[1]), None);
            assert_eq!(log_probability(scores, &[1]), f64::NEG_INFINITY);
        }
        assert_eq!(LabelScores::new(&[0.0; 12], 3).part(2..9).len(), 0);
    }
}
