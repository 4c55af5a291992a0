//! From the model's scores of a stretch to words, signs, reports, names and numbers.

use crate::calibration::right;
use crate::ear::{SLOWED, STEP_S};
use crate::fold::Folded;
use crate::hearing::{Alternative, Hearing, Said, Sign, Word};
use crate::said;
use crate::signs;
use crate::views;
use crate::vocabulary;
use crate::words;

impl Hearing {
    /// Adds what `scores` (log-probabilities, `vocabulary::size()` a step of 40 ms) say of
    /// a stretch that begins `start_s` seconds after the beginning of the recording. If a
    /// sign is in doubt, the scores of the stretch `slowed` are asked for.
    ///
    /// # Errors
    /// Those of `slowed`.
    pub fn read<E>(
        &mut self,
        start_s: f64,
        scores: &[f32],
        slowed: impl FnOnce() -> Result<Vec<f32>, E>,
    ) -> Result<(), E> {
        let folded = Folded::of(scores);
        let span = |steps: &std::ops::Range<usize>| {
            (
                start_s + steps.start as f64 * STEP_S,
                start_s + steps.end as f64 * STEP_S,
            )
        };
        let words = words::best_path(scores);
        let told = |list: Vec<words::Said>| {
            list.into_iter()
                .map(|s| Said {
                    span_s: span(&s.steps),
                    text: s.text,
                    probability: s.probability,
                })
                .collect::<Vec<_>>()
        };
        self.reports.extend(told(said::reports(scores)));
        self.names.extend(told(said::names(scores)));
        self.numbers.extend(told(words::numbers(&words)));
        let name = |token: usize| vocabulary::tokens()[token].word;
        self.words.extend(words.iter().map(|w| Word {
            word: name(w.token),
            symbol: vocabulary::tokens()[w.token].symbol,
            is_name: vocabulary::tokens()[w.token].is_name,
            span_s: span(&w.steps),
            probability: w.probability,
            alternatives: w.alternatives.iter().map(|(t, p)| (name(*t), *p)).collect(),
        }));
        let mut signs = signs::find(&folded);
        if signs.iter().any(signs::Found::is_in_doubt) {
            let again = signs::find(&Folded::of(&slowed()?));
            signs = views::together(signs, again, SLOWED);
        }
        for found in signs {
            let sum: f64 = found.alternatives.iter().map(|(_, p)| right(*p)).sum();
            let mut ranked = found.alternatives.into_iter().map(|(text, p)| Alternative {
                text,
                probability: right(p) / sum.max(1.0),
                decoder: p,
            });
            if let Some(first) = ranked.next() {
                self.signs.push(Sign {
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
