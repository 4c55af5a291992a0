//! From the samples of a stretch to what was heard in it: windows, model, decoder.

use std::ops::Range;

use crate::acoustic::{AcousticModel, STEP_SAMPLES};
use crate::error::RecogniserError;
use crate::hearing::Hearing;
use crate::mel::{MODEL_SAMPLE_RATE, MelFrontEnd};
use crate::resample::resample;
use crate::views::{SLOWED_TEMPO, slowed_steps};

/// Longest window given to the model: 9.6 s.
const WINDOW_SAMPLES: usize = 240 * STEP_SAMPLES;
/// In a window about as long as those that it was trained on (200 steps) the model sometimes
/// hears nothing at all; such a window is lengthened with silence to the end of this range.
const SHUNNED_WINDOW_STEPS: std::ops::Range<usize> = 196..206;
/// What two windows share, half of it trusted from each: 1.6 s.
const WINDOW_OVERLAP_SAMPLES: usize = 40 * STEP_SAMPLES;
/// The model's scores of one stretch of speech.
pub struct StretchScores {
    /// Where it begins, in seconds since the beginning of the recording.
    pub start_s: f64,
    /// Log-probabilities, `jumpseat_vocabulary::output_count()` a step of 40 ms.
    pub plain: Vec<f32>,
    /// The same of the stretch played slower: a step is less of the recording.
    pub slowed: Vec<f32>,
}

impl StretchScores {
    /// Those of some steps of the stretch, played slower: for `Hearing::add_stretch`.
    pub fn slowed_part(&self, steps: Range<usize>) -> Vec<f32> {
        let row = jumpseat_vocabulary::output_count();
        let steps = slowed_steps(&steps);
        let end = self.slowed.len().min(steps.end * row);
        self.slowed[(steps.start * row).min(end)..end].to_vec()
    }
}

/// The recogniser.
pub struct SpeechRecogniser<A: AcousticModel> {
    pub(crate) mel: MelFrontEnd,
    pub(crate) model: A,
}

impl<A: AcousticModel> SpeechRecogniser<A> {
    /// A recogniser that listens with `model`.
    pub fn with_model(model: A) -> Self {
        Self {
            mel: MelFrontEnd::new(),
            model,
        }
    }

    /// Hears one stretch in which somebody is known to speak (`stretch::stretches_around`);
    /// it begins `start_s` seconds after the beginning of the recording.
    ///
    /// # Errors
    /// A rate outside 4 to 384 kHz, or a failure of the model.
    pub fn hear_stretch(
        &self,
        samples: &[i16],
        rate: u32,
        start_s: f64,
    ) -> Result<Hearing, RecogniserError> {
        checked(rate)?;
        let mut hearing = Hearing::default();
        let samples = resample(&floats(samples), rate, MODEL_SAMPLE_RATE);
        self.stretch(&samples, start_s, &mut hearing)?;
        Ok(hearing)
    }

    /// Hears one stretch: a second time, slowed, where a sign is in doubt.
    pub(crate) fn stretch(
        &self,
        samples: &[f32],
        start_s: f64,
        hearing: &mut Hearing,
    ) -> Result<(), RecogniserError> {
        let plain = self.scores(samples)?;
        hearing.add_stretch(start_s, &plain, |steps| self.slowed_scores(samples, steps))
    }

    /// The model's scores of some steps of a stretch, played slower.
    pub(crate) fn slowed_scores(
        &self,
        samples: &[f32],
        steps: Range<usize>,
    ) -> Result<Vec<f32>, RecogniserError> {
        let end = samples.len().min(steps.end * STEP_SAMPLES);
        self.scores(&slowed(
            &samples[(steps.start * STEP_SAMPLES).min(end)..end],
        ))
    }

    /// The model's scores of one stretch, as it is and slowed.
    pub(crate) fn stretch_scores(
        &self,
        start_s: f64,
        samples: &[f32],
    ) -> Result<StretchScores, RecogniserError> {
        Ok(StretchScores {
            start_s,
            plain: self.scores(samples)?,
            slowed: self.scores(&slowed(samples))?,
        })
    }

    /// Log-probabilities of a whole stretch, in windows that overlap.
    pub(crate) fn scores(&self, samples: &[f32]) -> Result<Vec<f32>, RecogniserError> {
        let mut padded = whole_steps(samples);
        let mut out = JoinedScores::default();
        let mut first = 0;
        loop {
            if SHUNNED_WINDOW_STEPS.contains(&((padded.len() - first) / STEP_SAMPLES)) {
                padded.resize(first + SHUNNED_WINDOW_STEPS.end * STEP_SAMPLES, 0.0);
            }
            let end = padded.len().min(first + WINDOW_SAMPLES);
            let scores = self.model.scores(&self.mel.energies(&padded[first..end]))?;
            out.add(first / STEP_SAMPLES, &scores);
            if end == padded.len() {
                return Ok(out.into_scores());
            }
            first += WINDOW_SAMPLES - WINDOW_OVERLAP_SAMPLES;
        }
    }
}

/// Log-probabilities of the vocabulary of windows that overlap.
#[derive(Default)]
pub(crate) struct JoinedScores(Vec<f32>);

impl JoinedScores {
    /// Adds those of the next window, which begins at the step `first`. Of what it shares with
    /// the one before, half is taken from each.
    pub(crate) fn add(&mut self, first: usize, scores: &[f32]) {
        let row = jumpseat_vocabulary::output_count();
        let skip = (self.0.len() / row).saturating_sub(first) / 2;
        self.0.truncate((first + skip) * row);
        self.0
            .extend_from_slice(scores.get(skip * row..).unwrap_or_default());
    }

    /// Those of all, `jumpseat_vocabulary::output_count()` a step.
    pub(crate) fn into_scores(self) -> Vec<f32> {
        self.0
    }
}

/// The samples with silence after them up to the end of a step, five steps at least.
pub(crate) fn whole_steps(samples: &[f32]) -> Vec<f32> {
    let steps = samples.len().div_ceil(STEP_SAMPLES).max(5);
    let mut padded = samples.to_vec();
    padded.resize(steps * STEP_SAMPLES, 0.0);
    padded
}

/// The samples as if played slower and lower: another view of the same words.
fn slowed(samples: &[f32]) -> Vec<f32> {
    resample(
        samples,
        (f64::from(MODEL_SAMPLE_RATE) * SLOWED_TEMPO) as u32,
        MODEL_SAMPLE_RATE,
    )
}

pub(crate) fn checked(rate: u32) -> Result<(), RecogniserError> {
    match rate {
        4000..=384_000 => Ok(()),
        _ => Err(RecogniserError::Rate(rate)),
    }
}

/// 16-bit samples as numbers between -1 and 1.
pub(crate) fn floats(samples: &[i16]) -> Vec<f32> {
    samples.iter().map(|s| f32::from(*s) / 32768.0).collect()
}
