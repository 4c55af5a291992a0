//! Finds where in a received over somebody talks.
//!
//! Level alone does not show that on a sideband channel: the noise is as loud as the
//! voices, and a carrier is louder than both. What sets speech apart is that its
//! loudness rises and falls at the pace of syllables, 2 to 8 times a second, in
//! many parts of the spectrum at once (syllabic modulation as in Houtgast and
//! Steeneken's speech transmission index; the figures here are our own, set on
//! synthetic and real voices in noise). Steady noise and carriers do not do
//! that; Morse does, but in one narrow band; a static crash rises once.
//!
//! Streams: one second of history is kept, whatever the length of the over. The
//! noise floor is carried from over to over, so that an answer that begins with
//! the first sample is measured against the noise heard before it.

mod floor;
mod modulation;
mod spectrum;
mod speech_spans;
#[cfg(test)]
mod tests;

use floor::NoiseFloor;
use modulation::SyllableModulation;
use spectrum::{BANDS, BandSpectrum, HOP_SAMPLES};
use speech_spans::StretchCollector;

pub use spectrum::SAMPLE_RATE;
pub use speech_spans::SpeechStretch;

/// One band adds at most this much loudness, so that a strong narrow signal
/// cannot pass for speech.
const BAND_CAP_DB: f32 = 8.0;

/// The syllables of a voice and the gaps between them differ by about this much.
const DYNAMICS_DB: f32 = 20.0;
/// The remembered peak of a band falls by this much a frame: 6 dB a second.
const PEAK_FALL_DB: f32 = 0.1;

/// Finds speech in received audio, 16 kHz mono.
pub struct SpeechDetector {
    spectrum: BandSpectrum,
    floor: [NoiseFloor; BANDS],
    peak: [f32; BANDS],
    recent: [[f32; BANDS]; 2],
    modulation: SyllableModulation,
    spans: StretchCollector,
    frame: u64,
}

impl Default for SpeechDetector {
    fn default() -> Self {
        Self::new()
    }
}

impl SpeechDetector {
    /// A detector that has heard nothing yet.
    pub fn new() -> Self {
        Self {
            spectrum: BandSpectrum::new(),
            floor: std::array::from_fn(|_| NoiseFloor::new()),
            peak: [f32::MIN; BANDS],
            recent: [[0.0; BANDS]; 2],
            modulation: SyllableModulation::new(),
            spans: StretchCollector::new(),
            frame: 0,
        }
    }

    /// Takes the next samples of the over, any number of them.
    pub fn push(&mut self, samples: &[i16]) {
        for &sample in samples {
            if self.spectrum.take(sample) {
                let levels = self.spectrum.levels();
                self.judge(levels);
            }
        }
    }

    /// Ends the over. Gives the stretches of speech in it, in order, in seconds
    /// since its first sample, and is ready for the next over.
    pub fn finish(&mut self) -> Vec<SpeechStretch> {
        let length_s = (self.frame * HOP_SAMPLES as u64) as f64 / f64::from(SAMPLE_RATE);
        self.spectrum.restart();
        self.modulation = SyllableModulation::new();
        self.peak = [f32::MIN; BANDS];
        self.frame = 0;
        std::mem::replace(&mut self.spans, StretchCollector::new()).finish(length_s)
    }

    /// One frame of band levels in dB.
    fn judge(&mut self, levels: [f32; BANDS]) {
        if self.frame == 0 {
            self.recent = [levels; 2];
        }
        // The middle of three frames: a click shorter than 30 ms is not seen.
        let calm: [f32; BANDS] = std::array::from_fn(|band| {
            middle(self.recent[0][band], self.recent[1][band], levels[band])
        });
        self.recent = [self.recent[1], levels];

        let floor: [f32; BANDS] = std::array::from_fn(|band| self.floor[band].track(calm[band]));
        let loudness = mean(&above(&calm, &floor));
        // A loud voice in silence is far above the floor even between syllables;
        // its movement shows against its own peaks.
        let base: [f32; BANDS] = std::array::from_fn(|band| {
            self.peak[band] = calm[band].max(self.peak[band] - PEAK_FALL_DB);
            floor[band].max(self.peak[band] - DYNAMICS_DB)
        });
        let moving = above(&calm, &base);
        let depth = self.modulation.depth(&moving, mean(&moving));
        self.spans.judge(self.frame, loudness, depth);
        self.frame += 1;
    }
}

/// Levels above a base, in dB, within the cap.
fn above(levels: &[f32; BANDS], base: &[f32; BANDS]) -> [f32; BANDS] {
    std::array::from_fn(|band| (levels[band] - base[band]).clamp(-BAND_CAP_DB, BAND_CAP_DB))
}

/// The mean of the bands' powers, in dB.
fn mean(excess: &[f32; BANDS]) -> f32 {
    let powers = excess.iter().map(|excess| 10_f32.powf(excess / 10.0));
    10.0 * (powers.sum::<f32>() / BANDS as f32).log10()
}

/// The middle one of three values.
fn middle(a: f32, b: f32, c: f32) -> f32 {
    a.min(b).max(a.max(b).min(c))
}
