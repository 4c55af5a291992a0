//! From the rate of a speech program or a recording to the rate of a script.
//!
//! Not the recogniser's resampler: another filter would change every sample of every
//! simulated drive, and with them all figures that were judged on such drives.

use crate::sound::units::SCRIPT_SAMPLE_RATE;
use crate::sound::window::{blackman, sinc};

/// Changes the rate of a clip to [`SCRIPT_SAMPLE_RATE`] by windowed-sinc interpolation.
pub(crate) fn resample(clip: &[f32], from_rate: u32) -> Vec<f32> {
    const REACH: isize = 24;
    let step = f64::from(from_rate) / f64::from(SCRIPT_SAMPLE_RATE);
    // Going down, the cut must lie below half the new rate.
    let cut = (1.0 / step).min(1.0) as f32 * 0.95;
    let length = (clip.len() as f64 / step) as usize;
    (0..length)
        .map(|index| {
            let at = index as f64 * step;
            let whole = at.floor() as isize;
            let mut sum = 0.0;
            for near in whole - REACH..=whole + REACH {
                let Some(sample) = usize::try_from(near).ok().and_then(|near| clip.get(near))
                else {
                    continue;
                };
                let t = (near as f64 - at) as f32;
                let window = blackman((t / (REACH + 1) as f32 + 1.0) / 2.0);
                sum += sample * window * cut * sinc(cut * t);
            }
            sum
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use std::f32::consts::PI;

    use super::*;

    fn tone(hz: f32, rate: u32, seconds: f32) -> Vec<f32> {
        let count = (seconds * rate as f32) as usize;
        (0..count)
            .map(|n| (2.0 * PI * hz * n as f32 / rate as f32).sin())
            .collect()
    }

    fn rms(clip: &[f32]) -> f32 {
        (clip.iter().map(|x| x * x).sum::<f32>() / clip.len() as f32).sqrt()
    }

    #[test]
    fn a_tone_keeps_its_pitch_and_level_through_the_change_of_rate() {
        let clip = resample(&tone(1_000.0, 22_050, 1.0), 22_050);
        let should = tone(1_000.0, SCRIPT_SAMPLE_RATE, 1.0);
        assert_eq!(clip.len(), should.len());
        let worst = clip[100..15_900]
            .iter()
            .zip(&should[100..15_900])
            .map(|(a, b)| (a - b).abs())
            .fold(0.0, f32::max);
        assert!(worst < 2e-3, "{worst}");
        let folded = resample(&tone(10_000.0, 22_050, 1.0), 22_050);
        assert!(rms(&folded[100..15_900]) < 1e-3, "{}", rms(&folded));
    }
}
