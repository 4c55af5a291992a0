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
fn exhaustive(model: &ChancyModel, letters: &[f32], settings: SearchSettings) -> (f64, Vec<usize>) {
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
        fn go_on(&self, (): &mut (), added: &[AddedPiece]) -> Result<Vec<f32>, RecogniserError> {
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
