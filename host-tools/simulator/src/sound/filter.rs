//! Filters: the pass band of a voice channel.

use std::f32::consts::PI;

use super::units::SCRIPT_SAMPLE_RATE;
use super::window::{blackman, sinc};

/// The pass band of the voice channel in hertz (common practice for sideband).
pub(crate) const VOICE_BAND_HZ: (f32, f32) = (300.0, 2_700.0);

/// A finite impulse response that runs over a stream of samples.
#[derive(Debug, Clone)]
pub(crate) struct FirFilter {
    taps: Vec<f32>,
    /// The past samples twice over, so that a window is always one slice.
    past: Vec<f32>,
    at: usize,
}

impl FirFilter {
    /// Passes `low_hz` to `high_hz` with gain 1: a windowed sinc of 10 ms
    /// (Blackman window, more than 70 dB down beyond 550 Hz from the edges).
    pub(crate) fn band(low_hz: f32, high_hz: f32) -> Self {
        const LENGTH: usize = 161;
        let middle = (LENGTH / 2) as f32;
        let taps = (0..LENGTH)
            .map(|index| {
                let t = index as f32 - middle;
                let window = blackman((t + middle) / (LENGTH - 1) as f32);
                window * (low_pass(high_hz, t) - low_pass(low_hz, t))
            })
            .collect::<Vec<_>>();
        Self {
            past: vec![0.0; 2 * taps.len()],
            taps,
            at: 0,
        }
    }

    /// The same band, every frequency a quarter turn late: what the imaginary
    /// part of an analytic signal is made with.
    pub(crate) fn quadrature(low_hz: f32, high_hz: f32) -> Self {
        let mut fir = Self::band(low_hz, high_hz);
        let middle = (fir.taps.len() / 2) as f32;
        let last = (fir.taps.len() - 1) as f32;
        for (index, tap) in fir.taps.iter_mut().enumerate() {
            let t = index as f32 - middle;
            // Newest sample last: the response runs backwards in time here.
            let edge = |hz: f32| (2.0 * PI * hz / SCRIPT_SAMPLE_RATE as f32 * t).cos();
            let ideal = if t == 0.0 {
                0.0
            } else {
                (edge(low_hz) - edge(high_hz)) / (PI * t)
            };
            *tap = -ideal * blackman((t + middle) / last);
        }
        fir
    }

    /// The next sample, late by half the length of the response.
    pub(crate) fn next(&mut self, sample: f32) -> f32 {
        let length = self.taps.len();
        self.past[self.at] = sample;
        self.past[self.at + length] = sample;
        self.at = (self.at + 1) % length;
        let window = &self.past[self.at..self.at + length];
        // A symmetric response runs either way; one that is not is stored backwards.
        window.iter().zip(&self.taps).map(|(a, b)| a * b).sum()
    }

    /// A whole clip, not late, as long as it was.
    pub(crate) fn clip(mut self, clip: &[f32]) -> Vec<f32> {
        let late = self.taps.len() / 2;
        let zeros = std::iter::repeat_n(0.0, late);
        let all = clip.iter().copied().chain(zeros);
        all.map(|sample| self.next(sample)).skip(late).collect()
    }
}

fn low_pass(cut_hz: f32, t: f32) -> f32 {
    let cut = 2.0 * cut_hz / SCRIPT_SAMPLE_RATE as f32;
    cut * sinc(cut * t)
}

#[cfg(test)]
mod tests {
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

    #[track_caller]
    fn check_band(hz: f32, db: std::ops::Range<f32>) {
        let clip = FirFilter::band(300.0, 2_700.0).clip(&tone(hz, SCRIPT_SAMPLE_RATE, 1.0));
        let level = 20.0 * (rms(&clip[2_000..14_000]) * 2_f32.sqrt()).log10();
        assert!(db.contains(&level), "{hz} Hz: {level} dB");
    }

    #[test]
    fn the_voice_channel_passes_voice_only() {
        check_band(20.0, -200.0..-40.0);
        check_band(300.0, -6.5..-5.5);
        check_band(700.0, -0.1..0.1);
        check_band(1_500.0, -0.1..0.1);
        check_band(2_700.0, -6.5..-5.5);
        check_band(3_300.0, -200.0..-60.0);
    }
}
