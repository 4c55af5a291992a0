//! From the samples of a stretch to a `Hearing`: windows, model, decoder.

use crate::acoustic::{Acoustic, FRAMES_PER_STEP};
use crate::error::HearError;
use crate::hearing::Hearing;
use crate::listener::Listener;
use crate::mel::{HOP, Mel, RATE};
use crate::resample::resample;
use crate::vocabulary;

/// Seconds of one step of scores.
pub(crate) const STEP_S: f64 = (HOP * FRAMES_PER_STEP) as f64 / RATE as f64;

/// Samples of a step.
const STEP: usize = HOP * FRAMES_PER_STEP;
/// Longest window given to the model: 9.6 s.
const WINDOW: usize = 240 * STEP;
/// In windows about as long as those of its training (200 steps) the model at times hears
/// nothing at all; so many steps are given instead.
const SHUNNED: std::ops::Range<usize> = 196..206;
/// What two windows share, half of it trusted from each: 1.6 s.
const SHARED: usize = 40 * STEP;
/// How fast a stretch is played that is heard a second time.
pub(crate) const SLOWED: f64 = 0.94;

/// The model's scores of one stretch of speech.
pub struct Scored {
    /// Where it begins, in seconds since the beginning of the recording.
    pub start_s: f64,
    /// Log-probabilities, `vocabulary::size()` a step of 40 ms.
    pub plain: Vec<f32>,
    /// The same of the stretch played slower: a step is less of the recording.
    pub slowed: Vec<f32>,
}

/// The recogniser.
pub struct Ear<A: Acoustic> {
    mel: Mel,
    model: A,
}

impl<A: Acoustic> Ear<A> {
    /// A recogniser that listens with `model`.
    pub fn with(model: A) -> Self {
        Self {
            mel: Mel::new(),
            model,
        }
    }

    /// Hears a recording: 16-bit samples of one channel at `rate` hertz.
    ///
    /// # Errors
    /// A rate outside 4 to 384 kHz, or a failure of the model.
    pub fn hear(&self, samples: &[i16], rate: u32) -> Result<Hearing, HearError> {
        let mut listener = self.listener(rate)?;
        listener.push(samples)?;
        listener.finish()
    }

    /// What the model makes of every stretch of speech in a recording: for judging, as
    /// scores can be kept and read again.
    ///
    /// # Errors
    /// A rate outside 4 to 384 kHz, or a failure of the model.
    pub fn listen(&self, samples: &[i16], rate: u32) -> Result<Vec<Scored>, HearError> {
        let mut listener = self.listener(rate)?;
        let mut stretches = listener.advance(samples);
        stretches.extend(listener.rest());
        let scored = stretches.iter().map(|(start_s, samples)| {
            Ok(Scored {
                start_s: *start_s,
                plain: self.scores(samples)?,
                slowed: self.scores(&slowed(samples))?,
            })
        });
        scored.collect()
    }

    /// Listens to a recording that comes in pieces, with `rate` samples a second.
    ///
    /// # Errors
    /// A rate outside 4 to 384 kHz.
    pub fn listener(&self, rate: u32) -> Result<Listener<'_, A>, HearError> {
        checked(rate)?;
        Ok(Listener::new(self, rate))
    }

    /// Hears one stretch in which somebody is known to speak (`stretch::around`);
    /// it begins `start_s` seconds after the beginning of the recording.
    ///
    /// # Errors
    /// A rate outside 4 to 384 kHz, or a failure of the model.
    pub fn hear_stretch(
        &self,
        samples: &[i16],
        rate: u32,
        start_s: f64,
    ) -> Result<Hearing, HearError> {
        checked(rate)?;
        let mut hearing = Hearing::default();
        let samples = resample(&floats(samples), rate, RATE);
        self.stretch(&samples, start_s, &mut hearing)?;
        Ok(hearing)
    }

    /// Hears one stretch: a second time, slowed, if a sign in it is in doubt.
    pub(crate) fn stretch(
        &self,
        samples: &[f32],
        start_s: f64,
        hearing: &mut Hearing,
    ) -> Result<(), HearError> {
        let plain = self.scores(samples)?;
        hearing.read(start_s, &plain, || self.scores(&slowed(samples)))
    }

    /// Log-probabilities of a whole stretch, in windows that overlap.
    fn scores(&self, samples: &[f32]) -> Result<Vec<f32>, HearError> {
        let mut padded = samples.to_vec();
        padded.resize(samples.len().div_ceil(STEP).max(5) * STEP, 0.0);
        let mut out: Vec<f32> = Vec::new();
        let mut first = 0;
        loop {
            if SHUNNED.contains(&((padded.len() - first) / STEP)) {
                padded.resize(first + SHUNNED.end * STEP, 0.0);
            }
            let end = padded.len().min(first + WINDOW);
            let scores = self.model.scores(&self.mel.energies(&padded[first..end]))?;
            let skip = if first == 0 { 0 } else { SHARED / 2 / STEP };
            out.truncate((first / STEP + skip) * vocabulary::size());
            out.extend(scores.into_iter().skip(skip * vocabulary::size()));
            if end == padded.len() {
                return Ok(out);
            }
            first += WINDOW - SHARED;
        }
    }
}

/// The samples as if played slower and lower: another view of the same words.
fn slowed(samples: &[f32]) -> Vec<f32> {
    resample(samples, (f64::from(RATE) * SLOWED) as u32, RATE)
}

fn checked(rate: u32) -> Result<(), HearError> {
    match rate {
        4000..=384_000 => Ok(()),
        _ => Err(HearError::Rate(rate)),
    }
}

/// 16-bit samples as numbers between -1 and 1.
pub(crate) fn floats(samples: &[i16]) -> Vec<f32> {
    samples.iter().map(|s| f32::from(*s) / 32768.0).collect()
}
