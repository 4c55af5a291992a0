//! The most probable text about a window: the best few texts so far grow piece by piece. Both
//! the text decoder and the letters' output have a say.

use crate::error::RecogniserError;
use crate::letter_prefix::LetterPrefix;
use crate::letters::{SPACE_OUTPUT, letter_output};
use crate::pieces::{END_PIECE, SPECIAL_PIECES, piece_texts};
use crate::text_model::{AddedPiece, TextModel};

/// How a text is searched for.
#[derive(Debug, Clone, Copy)]
pub(crate) struct SearchSettings {
    /// Texts that grow side by side, at least one.
    pub(crate) width: usize,
    /// Longest text, in pieces without the end.
    pub(crate) most_pieces: usize,
    /// The log-probability of a text is divided by the count of its pieces, the end among them,
    /// to this power: 0 prefers short texts, 1 compares the mean of a piece.
    pub(crate) length_power: f64,
    /// What the log-probability by the letters' output counts beside the decoder's.
    pub(crate) letters_weight: f64,
}

/// A piece of a text, and its log-probability after those before it.
pub(crate) type WrittenPiece = (usize, f64);

/// A text as it grows.
#[derive(Debug, Clone)]
struct GrowingText {
    pieces: Vec<WrittenPiece>,
    /// Log-probability of the pieces together, by the decoder alone.
    sum: f64,
    /// What the letters' output says of it.
    letters: LetterPrefix,
}

/// A way to go on: a text by its row, what follows it, and the decoder's log-probability of both.
struct Candidate {
    row: usize,
    piece: usize,
    log_p: f64,
    decoder: f64,
}

/// A text that goes on: the row of that which it was, its score, and what becomes of it.
struct NextText {
    row: usize,
    score: f64,
    text: GrowingText,
}

/// The best text about a window, without its end; empty where the model finds nothing to say.
/// `heard` and `letters` are those of `WindowScores`.
///
/// # Errors
/// Those of the model.
pub(crate) fn search<M: TextModel>(
    model: &M,
    heard: &[f32],
    letters: &[f32],
    settings: SearchSettings,
) -> Result<Vec<WrittenPiece>, RecogniserError> {
    let per_length = |count: usize| (count as f64).powf(settings.length_power);
    let (mut texts, mut scores) = model.begin(heard)?;
    let mut live = vec![GrowingText {
        pieces: Vec::new(),
        sum: 0.0,
        letters: LetterPrefix::empty(letters),
    }];
    let mut best = (f64::NEG_INFINITY, Vec::new());
    loop {
        let outputs = scores.len() / live.len();
        let mut candidates: Vec<Candidate> = Vec::new();
        for (row, text) in live.iter().enumerate() {
            let row_scores = &scores[row * outputs..][..outputs];
            let end = text.sum + row_scores.get(END_PIECE).map_or(f64::NEG_INFINITY, fair);
            let ended =
                settings.score(end, || text.letters.is_all()) / per_length(text.pieces.len() + 1);
            if ended > best.0 {
                best = (ended, text.pieces.clone());
            }
            if text.pieces.len() < settings.most_pieces {
                let pieces = likeliest(row_scores, 2 * settings.width, text);
                candidates.extend(pieces.into_iter().map(|(piece, log_p)| Candidate {
                    row,
                    piece,
                    log_p,
                    decoder: text.sum + log_p,
                }));
            }
        }
        candidates.sort_by(|a, b| b.decoder.total_cmp(&a.decoder));
        // A score never rises as a text grows, so that this is the best that it can still become.
        let hopeless = |score: f64| score / per_length(settings.most_pieces + 1) <= best.0;
        let mut next: Vec<NextText> = Vec::new();
        for candidate in candidates {
            // What the letters say, which takes time, makes no score higher.
            let enough = next.len() == settings.width;
            let worst = next.last().filter(|_| enough).map(|n| n.score);
            if hopeless(candidate.decoder) || worst.is_some_and(|w| candidate.decoder <= w) {
                break;
            }
            let row = candidate.row;
            let text = live[row].with(candidate.piece, candidate.log_p, letters, settings);
            let score = settings.score(text.sum, || text.letters.begins());
            if score.is_finite() && !hopeless(score) {
                let place = next.partition_point(|n| n.score >= score);
                next.insert(place, NextText { row, score, text });
                next.truncate(settings.width);
            }
        }
        if next.is_empty() {
            return Ok(best.1);
        }
        let added = next.iter().filter_map(|n| {
            let (piece, _) = *n.text.pieces.last()?;
            Some(AddedPiece { row: n.row, piece })
        });
        scores = model.go_on(&mut texts, &added.collect::<Vec<_>>())?;
        live = next.into_iter().map(|n| n.text).collect();
    }
}

impl SearchSettings {
    /// Of the decoder's log-probability and the letters'.
    fn score(self, decoder: f64, letters: impl FnOnce() -> f64) -> f64 {
        if self.letters_weight > 0.0 {
            decoder + self.letters_weight * letters()
        } else {
            decoder
        }
    }
}

impl GrowingText {
    /// The text and then `piece`, whose log-probability is `log_p`.
    fn with(&self, piece: usize, log_p: f64, letters: &[f32], settings: SearchSettings) -> Self {
        let text = piece_texts().get(piece).copied().unwrap_or_default();
        let mut prefix = None;
        if settings.letters_weight > 0.0 {
            for letter in text.chars() {
                let output = match letter {
                    '_' if self.pieces.is_empty() => None,
                    '_' => Some(SPACE_OUTPUT),
                    letter => letter_output(letter),
                };
                if let Some(output) = output {
                    let so_far = prefix.as_ref().unwrap_or(&self.letters);
                    prefix = Some(so_far.with(letters, output));
                }
            }
        }
        Self {
            pieces: [&self.pieces[..], &[(piece, log_p)]].concat(),
            sum: self.sum + log_p,
            letters: prefix.unwrap_or_else(|| self.letters.clone()),
        }
    }
}

/// A log-probability, whatever the model gives.
fn fair(score: &f32) -> f64 {
    if score.is_nan() {
        f64::NEG_INFINITY
    } else {
        f64::from(*score).min(0.0)
    }
}

/// The likeliest pieces of words after `text`, `count` at most, in any order.
fn likeliest(scores: &[f32], count: usize, text: &GrowingText) -> Vec<(usize, f64)> {
    let mut out: Vec<(usize, f64)> = Vec::with_capacity(count + 1);
    for (piece, score) in scores.iter().enumerate().skip(SPECIAL_PIECES) {
        let log_p = fair(score);
        let lowest = out.last().filter(|_| out.len() == count);
        if lowest.is_some_and(|(_, p)| *p >= log_p) || goes_round(text, piece) {
            continue;
        }
        let place = out.partition_point(|(_, p)| *p >= log_p);
        out.insert(place, (piece, log_p));
        out.truncate(count);
    }
    out
}

/// A text that says the same pieces over and over is no text: a decoder that has lost its
/// place never ends. 'cq cq cq cq cq' is said, though.
const LONGEST_ROUND: usize = 12;
const LEAST_ROUNDS: usize = 4;
const LEAST_ROUND_PIECES: usize = 16;

/// Whether `text` and then `piece` ends in rounds of the same pieces.
fn goes_round(text: &GrowingText, piece: usize) -> bool {
    let count = text.pieces.len() + 1;
    let at = |k: usize| text.pieces.get(k).map_or(piece, |(p, _)| *p);
    (1..=LONGEST_ROUND).any(|round| {
        let repeated = LEAST_ROUND_PIECES
            .next_multiple_of(round)
            .max(LEAST_ROUNDS * round);
        count >= repeated && (count - repeated + round..count).all(|k| at(k) == at(k - round))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::acoustic::AcousticModel;
    use crate::alignment::{LabelScores, log_probability};
    use crate::letters::LETTER_OUTPUTS;
    use crate::text_model::WindowScores;

    /// A model whose pieces depend on the last two alone, by chance.
    struct ChancyModel {
        seed: u64,
        outputs: usize,
    }

    impl ChancyModel {
        fn after(&self, text: &[usize]) -> Vec<f32> {
            let mut state = text.iter().rev().take(2).fold(self.seed, |s, p| {
                (s ^ *p as u64)
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1_442_695_040_888_963_407)
            });
            let mut row: Vec<f32> = (0..self.outputs)
                .map(|_| {
                    state = state
                        .wrapping_mul(6_364_136_223_846_793_005)
                        .wrapping_add(1_442_695_040_888_963_407);
                    (4.0 * (state >> 40) as f32 / 16_777_216.0).exp()
                })
                .collect();
            let total: f32 = row.iter().sum();
            row.iter_mut().for_each(|p| *p = (*p / total).ln());
            row
        }
    }

    impl AcousticModel for ChancyModel {
        fn scores(&self, _: &[f32]) -> Result<Vec<f32>, RecogniserError> {
            Ok(Vec::new())
        }
    }

    impl TextModel for ChancyModel {
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

    /// The best of all texts that there are, and its score.
    fn exhaustive(
        model: &ChancyModel,
        letters: &[f32],
        settings: SearchSettings,
    ) -> (f64, Vec<usize>) {
        let by_letters = |text: &[usize]| {
            let signs: String = text.iter().map(|piece| piece_texts()[*piece]).collect();
            let labels: Vec<usize> = signs.chars().filter_map(letter_output).collect();
            log_probability(LabelScores::new(letters, LETTER_OUTPUTS), &labels)
        };
        let mut all = vec![(0.0, Vec::new())];
        let mut best = (f64::NEG_INFINITY, Vec::new());
        for length in 0..=settings.most_pieces {
            let mut longer = Vec::new();
            for (sum, text) in &all {
                let scores = model.after(text);
                let end = sum + f64::from(scores[END_PIECE]);
                let ended = settings.score(end, || by_letters(text))
                    / ((length + 1) as f64).powf(settings.length_power);
                if ended > best.0 {
                    best = (ended, text.clone());
                }
                for (piece, score) in scores.iter().enumerate().skip(SPECIAL_PIECES) {
                    longer.push((sum + f64::from(*score), [&text[..], &[piece]].concat()));
                }
            }
            all = longer;
        }
        best
    }

    #[test]
    fn a_beam_as_wide_as_all_texts_finds_the_best_of_them() {
        for seed in 1..40 {
            let model = ChancyModel {
                seed,
                outputs: SPECIAL_PIECES + 3,
            };
            let mut letters: Vec<f32> = (0..6 * LETTER_OUTPUTS)
                .map(|k| ((k * (seed as usize + 4) % 13) as f32).exp())
                .collect();
            for row in letters.chunks_exact_mut(LETTER_OUTPUTS) {
                let total: f32 = row.iter().sum();
                row.iter_mut().for_each(|p| *p = (*p / total).ln());
            }
            for (length_power, letters_weight) in
                [(0.0, 0.0), (0.6, 0.0), (1.0, 0.0), (0.0, 0.5), (1.0, 0.3)]
            {
                let wide = SearchSettings {
                    width: 81,
                    most_pieces: 4,
                    length_power,
                    letters_weight,
                };
                let pieces = |width| -> Vec<usize> {
                    let settings = SearchSettings { width, ..wide };
                    let found = search(&model, &[], &letters, settings).unwrap();
                    found.iter().map(|(piece, _)| *piece).collect()
                };
                let (_, wanted) = exhaustive(&model, &letters, wide);
                assert_eq!(pieces(81), wanted, "{seed} {length_power} {letters_weight}");
                assert!(pieces(1).len() <= 4);
            }
        }
    }

    #[track_caller]
    fn check(rounds: &[usize], times: usize, goes_on: bool) {
        let mut pieces: Vec<WrittenPiece> = vec![(90, 0.0), (91, 0.0)];
        pieces.extend((0..times).flat_map(|_| rounds.iter().map(|p| (*p, 0.0))));
        let last = pieces.pop().map_or(0, |(piece, _)| piece);
        let text = GrowingText {
            pieces,
            sum: 0.0,
            letters: LetterPrefix::empty(&[]),
        };
        assert_eq!(goes_round(&text, last), !goes_on, "{rounds:?} {times}");
    }

    #[test]
    fn rounds_end_and_what_people_repeat_does_not() {
        check(&[7], 15, true);
        check(&[7], 16, false);
        check(&[7, 8], 7, true);
        check(&[7, 8], 8, false);
        check(&[7, 8, 9, 10, 11, 12], 3, true);
        check(&[7, 8, 9, 10, 11, 12], 4, false);
        check(
            &[7, 8, 7, 9, 7, 10, 7, 11, 7, 12, 7, 13, 7, 14, 7, 15, 7, 16],
            2,
            true,
        );
    }

    #[test]
    fn scores_that_are_none_neither_panic_nor_go_on_for_ever() {
        struct OddModel(f32);
        impl AcousticModel for OddModel {
            fn scores(&self, _: &[f32]) -> Result<Vec<f32>, RecogniserError> {
                Ok(Vec::new())
            }
        }
        impl TextModel for OddModel {
            type Texts = ();
            fn window(&self, _: &[f32]) -> Result<WindowScores, RecogniserError> {
                Ok(WindowScores::default())
            }
            fn begin(&self, heard: &[f32]) -> Result<((), Vec<f32>), RecogniserError> {
                Ok(((), vec![self.0; heard.len()]))
            }
            fn go_on(
                &self,
                (): &mut (),
                added: &[AddedPiece],
            ) -> Result<Vec<f32>, RecogniserError> {
                Ok(vec![self.0; 9 * added.len()])
            }
        }
        for score in [
            f32::NAN,
            f32::NEG_INFINITY,
            f32::INFINITY,
            f32::MIN,
            0.0,
            -1.0,
        ] {
            for (outputs, letters_weight) in [(0, 0.0), (1, 0.5), (4, 0.0), (9, 0.0), (9, 0.5)] {
                let settings = SearchSettings {
                    width: 4,
                    most_pieces: 30,
                    length_power: 1.0,
                    letters_weight,
                };
                let letters = [score; 9 * LETTER_OUTPUTS];
                let heard = vec![0.0; outputs];
                let found = search(&OddModel(score), &heard, &letters, settings).unwrap();
                assert!(found.len() <= 30);
            }
        }
    }
}
