//! Splatter of a strong station beside the own frequency.

use super::units::{SCRIPT_SAMPLE_RATE, gain};
use crate::random::SeededRandom;

/// Bursts lie this far over the noise of the band, in dB.
const SPLATTER_DB: f32 = 6.0;

/// Lengths of the syllables that splatter, and of what is between them, in seconds.
const SYLLABLE_S: (f64, f64) = (0.1, 0.25);
const BETWEEN_S: (f64, f64) = (0.04, 0.16);

/// A burst takes so many samples to rise and to fall, more or less.
const EDGE_SAMPLES: f32 = 80.0;

/// Bursts of noise at the rate of syllables.
pub(super) struct SplatterBursts {
    random: SeededRandom,
    /// Whether a burst goes on, and for how many samples more.
    on: bool,
    samples: u32,
    strength: f32,
}

impl SplatterBursts {
    pub(super) fn new(seed: u64) -> Self {
        Self {
            random: SeededRandom::stream(seed, "splatter"),
            on: false,
            samples: 0,
            strength: 0.0,
        }
    }

    /// The next sample, in units of the band's noise.
    pub(super) fn next(&mut self) -> f32 {
        if self.samples == 0 {
            self.on = !self.on;
            let (low, high) = if self.on { SYLLABLE_S } else { BETWEEN_S };
            let seconds = self.random.between(low, high);
            self.samples = (f64::from(SCRIPT_SAMPLE_RATE) * seconds) as u32;
        }
        self.samples -= 1;
        let to = if self.on { gain(SPLATTER_DB) } else { 0.0 };
        self.strength += (to - self.strength) / EDGE_SAMPLES;
        self.strength * self.random.normal()
    }
}
