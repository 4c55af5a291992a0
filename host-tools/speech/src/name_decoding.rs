//! How probable the text decoder holds each word of a list to be next: all begin together and
//! part where their pieces do; those that have no chance are left out on the way. A word that can
//! be written with other pieces counts with all of them.

use std::collections::BTreeMap;

use crate::error::RecogniserError;
use crate::name_scoring::name_score;
use crate::pieces::{END_PIECE, piece_row, piece_texts};
use crate::text_model::{AddedPiece, TextModel};

/// Beginnings of words that grow side by side. Every one more costs time.
const BEGINNINGS: usize = 24;
/// A beginning whose score is so far below that of the best whole word is left out: 1 in 1,100.
const HOPELESS: f64 = 7.0;

/// A word of which the letters' figure is known.
#[derive(Debug, Clone, Copy)]
pub(crate) struct LetteredWord<'a> {
    /// With the space before it, '_': small letters.
    pub(crate) spelled: &'a str,
    /// Log-probability by the letters.
    pub(crate) letters: f64,
    /// How rare it is.
    pub(crate) class: u8,
}

impl LetteredWord<'_> {
    fn score(&self, decoder: f64) -> f64 {
        name_score(self.class, self.letters, decoder)
    }
}

/// Words that begin alike.
struct Beginning {
    /// The text that ends in it, and the piece that comes next.
    added: AddedPiece,
    /// Letters of the words that have been written with the next piece.
    written: usize,
    /// Log-probability of the pieces, the next one among them.
    sum: f64,
    words: Vec<usize>,
    /// The best score that one of the words can still have.
    hope: f64,
}

/// Log-probabilities, the end of the word among them, of those of `words` that have a chance, by
/// their numbers. `scores` are those of the next piece after the one text in `texts`.
///
/// # Errors
/// Those of the model.
pub(crate) fn decoded<M: TextModel>(
    model: &M,
    texts: &mut M::Texts,
    mut scores: Vec<f32>,
    words: &[LetteredWord<'_>],
) -> Result<BTreeMap<usize, f64>, RecogniserError> {
    let mut out: BTreeMap<usize, f64> = BTreeMap::new();
    let mut best = f64::NEG_INFINITY;
    // Sum, letters written and words of every text.
    let mut growing: Vec<(f64, usize, Vec<usize>)> = vec![(0.0, 0, (0..words.len()).collect())];
    while !growing.is_empty() {
        let outputs = scores.len() / growing.len();
        let mut next: Vec<Beginning> = Vec::new();
        for (row, (sum, written, numbers)) in growing.iter().enumerate() {
            let row_scores = scores.get(row * outputs..(row + 1) * outputs);
            let row_scores = row_scores.unwrap_or_default();
            let mut parted: BTreeMap<(usize, usize), Vec<usize>> = BTreeMap::new();
            for number in numbers {
                let word = &words[*number];
                if word.spelled.len() == *written {
                    let ended = sum + ends(row_scores);
                    best = best.max(word.score(ended));
                    let others = out.entry(*number).or_insert(f64::NEG_INFINITY);
                    *others = either(*others, ended);
                }
                for end in written + 1..=word.spelled.len() {
                    let text = word.spelled.get(*written..end);
                    if let Some(piece) = text.and_then(piece_row) {
                        parted.entry((piece, end)).or_default().push(*number);
                    }
                }
            }
            for ((piece, written), words_on) in parted {
                let score = row_scores.get(piece).filter(|score| !score.is_nan());
                let sum = sum + score.map_or(f64::NEG_INFINITY, |score| f64::from(*score));
                let hopes = words_on.iter().map(|number| words[*number].score(sum));
                let hope = hopes.fold(f64::NEG_INFINITY, f64::max);
                next.push(Beginning {
                    added: AddedPiece { row, piece },
                    written,
                    sum,
                    words: words_on,
                    hope,
                });
            }
        }
        next.retain(|one| one.hope > best - HOPELESS);
        next.sort_by(|a, b| b.hope.total_cmp(&a.hope));
        next.truncate(BEGINNINGS);
        let added: Vec<AddedPiece> = next.iter().map(|one| one.added).collect();
        if !added.is_empty() {
            scores = model.go_on(texts, &added)?;
        }
        growing = next
            .into_iter()
            .map(|one| (one.sum, one.written, one.words))
            .collect();
    }
    Ok(out)
}

/// The log of the sum of two probabilities with these logs.
fn either(a: f64, b: f64) -> f64 {
    let (more, less) = if a > b { (a, b) } else { (b, a) };
    if less == f64::NEG_INFINITY {
        return more;
    }
    more + (less - more).exp().ln_1p()
}

/// Log-probability that a word ends before the next piece.
fn ends(scores: &[f32]) -> f64 {
    let pieces = piece_texts().iter().zip(scores).enumerate();
    let beginning = pieces.filter(|(k, (text, _))| *k == END_PIECE || text.starts_with('_'));
    let sum: f64 = beginning.map(|(_, (_, p))| f64::from(p.exp())).sum();
    sum.ln()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::acoustic::AcousticModel;
    use crate::text_model::WindowScores;

    /// A model that gives every piece after a text a probability by that text's sum of pieces.
    struct SumModel(f32);

    impl SumModel {
        fn after(&self, text: &[usize]) -> Vec<f32> {
            let seed = text.iter().sum::<usize>();
            let count = piece_texts().len();
            let score = |piece: usize| match (piece * 31 + seed * 7) % 97 {
                0 => self.0,
                k => -9.0 - k as f32 / 50.0,
            };
            (0..count).map(score).collect()
        }
    }

    impl AcousticModel for SumModel {
        fn scores(&self, _: &[f32]) -> Result<Vec<f32>, RecogniserError> {
            Ok(Vec::new())
        }
    }

    impl TextModel for SumModel {
        type Texts = Vec<Vec<usize>>;

        fn window(&self, _: &[f32]) -> Result<WindowScores, RecogniserError> {
            Ok(WindowScores::default())
        }

        fn begin(&self, _: &[f32]) -> Result<(Self::Texts, Vec<f32>), RecogniserError> {
            Ok((vec![Vec::new()], self.after(&[])))
        }

        fn go_on(
            &self,
            texts: &mut Self::Texts,
            added: &[AddedPiece],
        ) -> Result<Vec<f32>, RecogniserError> {
            *texts = added
                .iter()
                .map(|a| [&texts[a.row][..], &[a.piece]].concat())
                .collect();
            Ok(texts.iter().flat_map(|text| self.after(text)).collect())
        }
    }

    /// Log-probability of the rest of a word after a text, with all pieces that there are.
    fn exhaustive(model: &SumModel, text: &[usize], rest: &str) -> f64 {
        let scores = model.after(text);
        if rest.is_empty() {
            return ends(&scores);
        }
        let ways = (1..=rest.len()).filter_map(|end| {
            let piece = piece_row(&rest[..end])?;
            let longer = [text, &[piece]].concat();
            Some(f64::from(scores[piece]) + exhaustive(model, &longer, &rest[end..]))
        });
        ways.fold(f64::NEG_INFINITY, either)
    }

    #[test]
    fn what_is_found_is_as_probable_as_all_ways_to_write_it() {
        let names = ["_tom", "_ann", "_al", "_ed", "_tim", "_tom"];
        for score in [-0.5, -9.0] {
            let model = SumModel(score);
            let words = names.map(|spelled| LetteredWord {
                spelled,
                letters: -1.0,
                class: 3,
            });
            let (mut texts, scores) = model.begin(&[]).unwrap();
            let found = decoded(&model, &mut texts, scores, &words).unwrap();
            assert!(!found.is_empty());
            for (number, got) in found {
                // What is left out on the way is little.
                let all = exhaustive(&model, &[], names[number]);
                assert!(got <= all + 1e-6, "{}: {got} {all}", names[number]);
                assert!(got > all - 0.5, "{}: {got} {all}", names[number]);
            }
        }
    }

    #[test]
    fn scores_that_are_none_end() {
        let model = SumModel(f32::NAN);
        let word = LetteredWord {
            spelled: "_thomas",
            letters: f64::NEG_INFINITY,
            class: 0,
        };
        for scores in [vec![f32::NAN; 9], Vec::new(), vec![f32::INFINITY; 9000]] {
            let (mut texts, _) = model.begin(&[]).unwrap();
            let found = decoded(&model, &mut texts, scores, &[word]).unwrap();
            assert!(found.len() <= 1);
        }
    }

    #[test]
    fn no_words_are_no_question() {
        let model = SumModel(-1.0);
        let (mut texts, scores) = model.begin(&[]).unwrap();
        assert!(decoded(&model, &mut texts, scores, &[]).unwrap().is_empty());
    }
}
