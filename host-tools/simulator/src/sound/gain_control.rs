//! A short-wave receiver's automatic gain control.

use super::units::{SCRIPT_SAMPLE_RATE, gain};

/// The gain is lowest from here on, in dB over the noise of the band.
const STRONGEST_DB: f32 = 25.0;

/// The peaks of noise lie this far over its root mean square as the detector holds them.
const PEAKS_DB: f32 = 9.0;

/// The detector reaches a step within 5 ms.
const ATTACK_S: f32 = 0.001;

/// And has let go of it 0.6 s after the step ends.
const RELEASE_S: f32 = 0.15;

/// Lowers the gain while a signal stands, so that the noise rises between overs.
///
/// The gain is 0 dB for the strongest signals, which therefore keep their level.
#[derive(Debug, Clone)]
pub(super) struct GainControl {
    /// What the detector holds, in units of the noise.
    held: f32,
    /// Shares of the way that the detector goes in a sample, up and down.
    up: f32,
    down: f32,
}

impl GainControl {
    /// As after a long time of noise.
    pub(super) fn new() -> Self {
        let share = |seconds: f32| 1.0 - (-1.0 / (seconds * SCRIPT_SAMPLE_RATE as f32)).exp();
        Self {
            held: gain(PEAKS_DB),
            up: share(ATTACK_S),
            down: share(RELEASE_S),
        }
    }

    /// The sample after the control; noise has power 1, and `depth_db` lie between no signal
    /// and the strongest; 0 leaves everything as it is.
    pub(super) fn next(&mut self, sample: f32, depth_db: f32) -> f32 {
        if depth_db == 0.0 {
            return sample;
        }
        let way = sample.abs() - self.held;
        self.held += way * if way > 0.0 { self.up } else { self.down };
        let over_db = 20.0 * self.held.max(1e-6).log10() - PEAKS_DB;
        let strength = (over_db / STRONGEST_DB).clamp(0.0, 1.0);
        sample * gain(depth_db * (1.0 - strength))
    }
}

#[cfg(test)]
mod tests {
    use std::f32::consts::TAU;

    use super::*;
    use crate::random::SeededRandom;
    use crate::sound::filter::FirFilter;

    /// Half a second of noise, a second of a tone 30 dB over it, and noise again: the gain in
    /// dB at these times.
    fn gains_db(at_s: &[f32]) -> Vec<f32> {
        let mut random = SeededRandom::stream(1, "noise");
        let mut band = FirFilter::band(300.0, 2_700.0);
        let mut control = GainControl::new();
        let gains: Vec<f32> = (0..48_000)
            .map(|n| {
                let seconds = n as f32 / SCRIPT_SAMPLE_RATE as f32;
                let noise = band.next(random.normal()) / 0.3_f32.sqrt();
                let tone = if (0.5..1.5).contains(&seconds) {
                    gain(33.0) * (TAU * (1_000.0 * seconds).fract()).sin()
                } else {
                    0.0
                };
                // A hair beside zero, so that there is something to divide by.
                let sample = noise + tone + 1e-3;
                20.0 * (control.next(sample, 10.0) / sample).log10()
            })
            .collect();
        let at = |&seconds: &f32| gains[(seconds * SCRIPT_SAMPLE_RATE as f32) as usize];
        at_s.iter().map(at).collect()
    }

    #[test]
    fn it_falls_within_5_ms_and_recovers_within_0_6_s() {
        let gains = gains_db(&[0.45, 0.506, 1.49, 1.52, 2.1, 2.9]);
        assert!((8.5..=10.0).contains(&gains[0]), "{gains:?}");
        assert!(gains[1] < 1.0 && gains[2] < 1.0, "{gains:?}");
        assert!(gains[3] < 3.0, "{gains:?}");
        assert!(gains[4] > 8.0 && gains[5] > 8.0, "{gains:?}");
    }
}
