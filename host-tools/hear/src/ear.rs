//! From samples to a `Hearing`: activity, windows, model, decoder.

use crate::acoustic::{Acoustic, FRAMES_PER_STEP};
use crate::activity::{Detector, SAMPLE_RATE};
use crate::error::HearError;
use crate::fold::Folded;
use crate::hearing::{Alternative, Hearing, Said, Sign, Word};
use crate::mel::{HOP, Mel, RATE};
use crate::resample::resample;
use crate::signs;
use crate::vocabulary;
use crate::words;

/// Seconds of one step of scores.
pub(crate) const STEP_S: f64 = (HOP * FRAMES_PER_STEP) as f64 / RATE as f64;

/// Samples of a step.
const STEP: usize = HOP * FRAMES_PER_STEP;
/// Longest window given to the model: 8 s, as in training.
const WINDOW: usize = 200 * STEP;
/// What two windows share, half of it trusted from each: 1.6 s.
const SHARED: usize = 40 * STEP;
/// Silence kept before and after speech, in seconds.
const MARGIN_S: f64 = 0.4;
/// Speech that is interrupted for less than this is one stretch, in seconds.
const JOIN_S: f64 = 1.5;
/// A long recording is heard in parts of this many seconds, cut where nobody speaks.
const PART_S: usize = 240;

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

    /// Hears a recording of any length: 16-bit samples of one channel at `rate` hertz.
    ///
    /// Beside the samples it needs memory for four minutes at a time and for what was said.
    ///
    /// # Errors
    /// A rate outside 4 to 384 kHz, or a failure of the model.
    pub fn hear(&self, samples: &[i16], rate: u32) -> Result<Hearing, HearError> {
        if !(4000..=384_000).contains(&rate) {
            return Err(HearError::Rate(rate));
        }
        let mut hearing = Hearing::default();
        let mut detector = Detector::new();
        let (mut at, part) = (0, PART_S * rate as usize);
        while at < samples.len() {
            let end = samples.len().min(at + part);
            let last = end == samples.len();
            let done = self.part(
                &samples[at..end],
                rate,
                last,
                &mut detector,
                at as f64 / f64::from(rate),
                &mut hearing,
            )?;
            at = if last {
                end
            } else {
                at + done.clamp(part / 4, part)
            };
        }
        Ok(hearing)
    }

    /// Hears one part; gives how many of its samples are dealt with.
    fn part(
        &self,
        samples: &[i16],
        rate: u32,
        last: bool,
        detector: &mut Detector,
        offset_s: f64,
        hearing: &mut Hearing,
    ) -> Result<usize, HearError> {
        let whole: Vec<f32> = samples.iter().map(|s| f32::from(*s) / 32768.0).collect();
        let wide: Vec<i16> = resample(&whole, rate, SAMPLE_RATE)
            .iter()
            .map(|x| (x * 32767.0) as i16)
            .collect();
        detector.push(&wide);
        let mut spans = joined(detector.finish().iter().map(|s| (s.start_s, s.end_s)));
        let length_s = samples.len() as f64 / f64::from(rate);
        let mut done = samples.len();
        let open = spans.last().copied().filter(|s| {
            // Speech that goes on past this part is heard with the next, unless it fills this one.
            !last && s.1 > length_s - JOIN_S && s.0 > length_s / 4.0
        });
        if let Some(open) = open {
            spans.pop();
            done = ((open.0 - MARGIN_S).max(0.0) * f64::from(rate)) as usize;
        }
        let narrow = resample(&whole, rate, RATE);
        for (from_s, to_s) in spans {
            let first = ((from_s - MARGIN_S).max(0.0) * f64::from(RATE)) as usize / STEP * STEP;
            let end = (((to_s + MARGIN_S) * f64::from(RATE)) as usize).min(narrow.len());
            if end > first {
                let start_s = offset_s + first as f64 / f64::from(RATE);
                hearing.speech.push((offset_s + from_s, offset_s + to_s));
                self.stretch(&narrow[first..end], start_s, hearing)?;
            }
        }
        Ok(done)
    }

    /// Hears one stretch of speech that begins at `start_s`.
    fn stretch(
        &self,
        samples: &[f32],
        start_s: f64,
        hearing: &mut Hearing,
    ) -> Result<(), HearError> {
        let scores = self.scores(samples)?;
        let folded = Folded::of(&scores);
        let span = |steps: &std::ops::Range<usize>| {
            (
                start_s + steps.start as f64 * STEP_S,
                start_s + steps.end as f64 * STEP_S,
            )
        };
        let words = words::best_path(&scores);
        let said = |list: Vec<words::Said>| {
            list.into_iter()
                .map(|s| Said {
                    span_s: span(&s.steps),
                    text: s.text,
                    probability: s.probability,
                })
                .collect::<Vec<_>>()
        };
        hearing.reports.extend(said(words::reports(&words)));
        hearing.names.extend(said(words::names(&words)));
        hearing.numbers.extend(said(words::numbers(&words)));
        let name = |token: usize| vocabulary::tokens()[token].word;
        hearing.words.extend(words.iter().map(|w| Word {
            word: name(w.token),
            symbol: vocabulary::tokens()[w.token].symbol,
            span_s: span(&w.steps),
            probability: w.probability,
            alternatives: w.alternatives.iter().map(|(t, p)| (name(*t), *p)).collect(),
        }));
        for found in signs::find(&folded) {
            let mut ranked = found.alternatives.into_iter().map(|(text, p)| Alternative {
                text,
                probability: p,
            });
            if let Some(first) = ranked.next() {
                hearing.signs.push(Sign {
                    text: first.text,
                    probability: first.probability,
                    alternatives: ranked.take(9).collect(),
                    spans_s: found.steps.iter().map(span).collect(),
                });
            }
        }
        hearing.stretches.push((start_s, folded));
        Ok(())
    }

    /// Log-probabilities of a whole stretch, in windows that overlap.
    fn scores(&self, samples: &[f32]) -> Result<Vec<f32>, HearError> {
        let mut padded = samples.to_vec();
        padded.resize(samples.len().div_ceil(STEP).max(5) * STEP, 0.0);
        let mut out: Vec<f32> = Vec::new();
        let mut first = 0;
        loop {
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

/// Stretches with short interruptions made one.
fn joined(spans: impl Iterator<Item = (f64, f64)>) -> Vec<(f64, f64)> {
    let mut out: Vec<(f64, f64)> = Vec::new();
    for (from_s, to_s) in spans {
        match out.last_mut().filter(|last| from_s - last.1 < JOIN_S) {
            Some(last) => last.1 = to_s,
            None => out.push((from_s, to_s)),
        }
    }
    out
}
