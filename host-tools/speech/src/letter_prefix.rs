//! How probable a text that has only begun is by the letters' output: the sum over all CTC
//! paths that begin so.
//!
//! Watanabe and others (2017), 'Hybrid CTC/attention architecture for end-to-end speech
//! recognition': such a sum keeps a text decoder from saying things twice, leaving things out
//! and making things up.

use crate::letters::{BLANK_OUTPUT, LETTER_OUTPUTS};

/// A text so far, against the letters' scores of one window.
#[derive(Debug, Clone)]
pub(crate) struct LetterPrefix {
    last: Option<usize>,
    /// By row: log-probability of the paths up to there that say just this text and end in its
    /// last letter, and of those that end in a blank.
    in_letter: Vec<f32>,
    in_blank: Vec<f32>,
    begins: f64,
}

impl LetterPrefix {
    /// No letter yet; `letters` are log-probabilities, `LETTER_OUTPUTS` a row.
    pub(crate) fn empty(letters: &[f32]) -> Self {
        let mut sum = 0.0;
        let in_blank: Vec<f32> = letters
            .chunks_exact(LETTER_OUTPUTS)
            .map(|row| {
                sum += fair(row[BLANK_OUTPUT]);
                sum
            })
            .collect();
        Self {
            last: None,
            in_letter: vec![f32::NEG_INFINITY; in_blank.len()],
            in_blank,
            begins: 0.0,
        }
    }

    /// Log-probability that what was said begins with this text.
    pub(crate) fn begins(&self) -> f64 {
        self.begins
    }

    /// Log-probability that this text is all that was said.
    pub(crate) fn is_all(&self) -> f64 {
        match (self.in_letter.last(), self.in_blank.last()) {
            (Some(letter), Some(blank)) => f64::from(either(*letter, *blank)),
            _ => self.begins,
        }
    }

    /// The text with one more letter, an output that is not the blank.
    pub(crate) fn with(&self, letters: &[f32], output: usize) -> Self {
        let rows = letters.chunks_exact(LETTER_OUTPUTS);
        let mut out = Self {
            last: Some(output),
            in_letter: Vec::with_capacity(self.in_letter.len()),
            in_blank: Vec::with_capacity(self.in_blank.len()),
            begins: f64::NEG_INFINITY,
        };
        // Before the first row only the text without letters is complete.
        let (mut before, mut letter, mut blank) = (
            if self.last.is_none() {
                0.0
            } else {
                f32::NEG_INFINITY
            },
            f32::NEG_INFINITY,
            f32::NEG_INFINITY,
        );
        let mut begins = f32::NEG_INFINITY;
        for (row, (was_letter, was_blank)) in rows.zip(self.in_letter.iter().zip(&self.in_blank)) {
            let p = fair(row.get(output).copied().unwrap_or(f32::NAN));
            blank = either(blank, letter) + fair(row[BLANK_OUTPUT]);
            letter = either(letter, before) + p;
            begins = either(begins, before + p);
            out.in_letter.push(letter);
            out.in_blank.push(blank);
            // The same letter twice needs a blank between.
            before = if self.last == Some(output) {
                *was_blank
            } else {
                either(*was_letter, *was_blank)
            };
        }
        out.begins = f64::from(begins);
        out
    }
}

/// A log-probability, whatever the model gives.
fn fair(score: f32) -> f32 {
    if score.is_nan() {
        f32::NEG_INFINITY
    } else {
        score.min(0.0)
    }
}

/// The log of the sum of two probabilities with these logs.
fn either(a: f32, b: f32) -> f32 {
    let (more, less) = if a > b { (a, b) } else { (b, a) };
    // Below this nothing is left of the smaller one; it is the usual case.
    if less < more - 16.0 || less == f32::NEG_INFINITY {
        return more;
    }
    more + (less - more).exp().ln_1p()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::alignment::{LabelScores, log_probability};

    /// Four outputs by chance, the others next to impossible.
    fn letters(seed: u32, rows: usize) -> Vec<f32> {
        let mut state = seed;
        let mut out = vec![-60.0; rows * LETTER_OUTPUTS];
        for row in out.chunks_exact_mut(LETTER_OUTPUTS) {
            let p: Vec<f32> = (0..4)
                .map(|_| {
                    state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                    (state >> 8) as f32 / 16_777_216.0 + 1e-4
                })
                .collect();
            let total: f32 = p.iter().sum();
            row.iter_mut()
                .zip(&p)
                .for_each(|(to, p)| *to = (p / total).ln());
        }
        out
    }

    fn prefix(letters: &[f32], text: &[usize]) -> LetterPrefix {
        let empty = LetterPrefix::empty(letters);
        text.iter()
            .fold(empty, |text, output| text.with(letters, *output))
    }

    #[test]
    fn a_whole_text_is_as_probable_as_all_its_paths() {
        for seed in 1..9 {
            let letters = letters(seed, 7);
            for text in [vec![], vec![1], vec![1, 2], vec![2, 2], vec![3, 1, 1, 2]] {
                let wanted = log_probability(LabelScores::new(&letters, LETTER_OUTPUTS), &text);
                let got = prefix(&letters, &text).is_all();
                assert!((got - wanted).abs() < 1e-4, "{text:?}: {got} {wanted}");
            }
        }
    }

    #[test]
    fn a_text_begins_as_often_as_it_is_all_or_goes_on() {
        for seed in 1..9 {
            let letters = letters(seed, 7);
            for text in [vec![], vec![1], vec![1, 2], vec![2, 2]] {
                let whole = prefix(&letters, &text);
                let longer = (1..4).map(|k| whole.with(&letters, k).begins().exp());
                let sum = whole.is_all().exp() + longer.sum::<f64>();
                let got = whole.begins().exp();
                assert!((got - sum).abs() < 1e-4, "{text:?}: {got} {sum}");
            }
        }
    }

    #[test]
    fn too_long_texts_and_odd_scores_are_impossible() {
        let few = letters(1, 3);
        assert_eq!(prefix(&few, &[1, 1, 1]).begins(), f64::NEG_INFINITY);
        assert_eq!(prefix(&[], &[1]).is_all(), f64::NEG_INFINITY);
        assert_eq!(prefix(&[], &[]).is_all(), 0.0);
        let odd = vec![f32::NAN; 3 * LETTER_OUTPUTS];
        assert_eq!(prefix(&odd, &[1]).begins(), f64::NEG_INFINITY);
    }
}
