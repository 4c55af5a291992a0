//! From the model's scores of a stretch to words, signs, reports, names and numbers.

use std::ops::Range;

use jumpseat_vocabulary::tokens;

use crate::acoustic::STEP_S;
use crate::best_path;
use crate::calibration::calibrated;
use crate::fold::FoldedScores;
use crate::hearing::{AlternativeSign, HeardValue, Hearing, RecognisedSign, RecognisedWord};
use crate::signs;
use crate::spoken_values;
use crate::views::{self, slowed_steps};

impl Hearing {
    /// Adds what `scores` (log-probabilities, `jumpseat_vocabulary::output_count()` a step of 40 ms) say of
    /// a stretch that begins `start_s` seconds after the beginning of the recording. Where a
    /// sign is in doubt, `slowed` is called for the scores of those steps played slower.
    ///
    /// # Errors
    /// Those of `slowed`.
    pub fn add_stretch<E>(
        &mut self,
        start_s: f64,
        scores: &[f32],
        mut slowed: impl FnMut(Range<usize>) -> Result<Vec<f32>, E>,
    ) -> Result<(), E> {
        let folded = FoldedScores::from_scores(scores);
        let span = |steps: &Range<usize>| {
            (
                start_s + steps.start as f64 * STEP_S,
                start_s + steps.end as f64 * STEP_S,
            )
        };
        let words = best_path::best_path(scores);
        let in_seconds = |list: Vec<best_path::StepValue>| {
            list.into_iter()
                .map(|s| HeardValue {
                    span_s: span(&s.steps),
                    text: s.text,
                    probability: s.probability,
                })
                .collect::<Vec<_>>()
        };
        self.reports
            .extend(in_seconds(spoken_values::reports(scores)));
        self.names.extend(in_seconds(spoken_values::names(scores)));
        self.numbers.extend(in_seconds(best_path::numbers(&words)));
        let name = |token: usize| tokens()[token].word;
        self.words.extend(words.iter().map(|w| RecognisedWord {
            word: name(w.token),
            symbol: tokens()[w.token].symbol,
            is_name: tokens()[w.token].is_name,
            span_s: span(&w.steps),
            probability: w.probability,
            alternatives: w.alternatives.iter().map(|(t, p)| (name(*t), *p)).collect(),
        }));
        let mut signs = signs::find(&folded);
        let doubtful = views::around_doubtful(&signs, folded.len());
        if !doubtful.is_empty() {
            // In one piece, so that what is said far apart is pooled.
            let mut again = FoldedScores::default();
            for steps in &doubtful {
                again.put(slowed_steps(steps).start, &slowed(steps.clone())?);
            }
            signs = views::joined(signs, &doubtful, signs::find(&again));
        }
        for found in signs {
            let sum: f64 = found.alternatives.iter().map(|(_, p)| calibrated(*p)).sum();
            let mut ranked = found
                .alternatives
                .into_iter()
                .map(|(text, p)| AlternativeSign {
                    text,
                    probability: calibrated(p) / sum.max(1.0),
                    decoder: Some(p),
                });
            if let Some(first) = ranked.next() {
                self.signs.push(RecognisedSign {
                    text: first.text,
                    probability: first.probability,
                    decoder: first.decoder,
                    alternatives: ranked.take(9).collect(),
                    spans_s: found.steps.iter().map(span).collect(),
                });
            }
        }
        self.stretches.push((start_s, folded));
        Ok(())
    }
}
