//! What happens to a voice on its way to the receiver: fading, mistuning, picket-fencing.
//!
//! Short wave is the model of Watterson (Watterson, Juroshek and Bensema, 1970) as
//! ITU-R F.1487 has it: two paths of equal mean power, each with a complex
//! Gaussian gain of its own whose Doppler spectrum is Gaussian, too.

use std::f32::consts::{PI, TAU};

use super::filter::FirFilter;
use super::units::SCRIPT_SAMPLE_RATE;
use crate::random::SeededRandom;

/// Gains are worked out this often and run straight in between, in samples.
const GAIN_STEP_SAMPLES: usize = 160;
/// The same for a spread of more than [`FAST_SPREAD_HZ`].
const FAST_STEP_SAMPLES: usize = 20;
/// Straight lines of 10 ms follow a spread of so many hertz.
const FAST_SPREAD_HZ: f32 = 5.0;
/// Sine waves that one gain is the sum of.
const GAIN_WAVES: usize = 24;

/// A complex gain that wanders; mean power 1.
struct FadingGain {
    /// Rate in hertz and phase in turns of every wave.
    waves: Vec<(f32, f32)>,
}

impl FadingGain {
    /// `spread_hz` is twice the standard deviation of the Doppler spectrum, as
    /// F.1487 counts it.
    fn new(random: &mut SeededRandom, spread_hz: f32) -> Self {
        let waves = (0..GAIN_WAVES).map(|_| {
            let rate = random.normal() * spread_hz / 2.0;
            (rate, random.between(0.0, 1.0) as f32)
        });
        Self {
            waves: waves.collect(),
        }
    }

    fn at(&self, seconds: f64) -> (f32, f32) {
        let (mut real, mut imaginary) = (0.0, 0.0);
        for &(rate, phase) in &self.waves {
            let turns = (f64::from(rate) * seconds).fract() as f32 + phase;
            real += (TAU * turns).cos();
            imaginary += (TAU * turns).sin();
        }
        let scale = 1.0 / (GAIN_WAVES as f32).sqrt();
        (real * scale, imaginary * scale)
    }

    /// The gain at `count` samples from `first` on, worked out every `grain_samples`.
    fn run(&self, first: u64, count: usize, grain_samples: usize) -> Vec<(f32, f32)> {
        let at = |grain: usize| {
            self.at((first as f64 + (grain * grain_samples) as f64) / f64::from(SCRIPT_SAMPLE_RATE))
        };
        let mut gains = Vec::with_capacity(count + grain_samples);
        let mut from = at(0);
        for grain in 0..count.div_ceil(grain_samples) {
            let to = at(grain + 1);
            gains.extend((0..grain_samples).map(|step| {
                let part = step as f32 / grain_samples as f32;
                let mix = |a: f32, b: f32| a + part * (b - a);
                (mix(from.0, to.0), mix(from.1, to.1))
            }));
            from = to;
        }
        gains.truncate(count);
        gains
    }
}

/// A fading path on short wave.
pub(crate) struct WattersonChannel {
    gains: [FadingGain; 2],
    grain_samples: usize,
    delay: usize,
    off_hz: f32,
}

impl WattersonChannel {
    /// Two paths `delay_s` apart; `off_hz` is how far the receiver is mistuned.
    pub(crate) fn new(
        random: &mut SeededRandom,
        delay_s: f32,
        spread_hz: f32,
        off_hz: f32,
    ) -> Self {
        let gain = |random: &mut SeededRandom| FadingGain::new(random, spread_hz);
        Self {
            gains: [gain(random), gain(random)],
            grain_samples: if spread_hz > FAST_SPREAD_HZ {
                FAST_STEP_SAMPLES
            } else {
                GAIN_STEP_SAMPLES
            },
            delay: (delay_s * SCRIPT_SAMPLE_RATE as f32).round() as usize,
            off_hz,
        }
    }

    /// A clip that starts at sample `first` of the drive, as it arrives; its mean
    /// power over long times stays what it was within 300 to 2,700 Hz.
    pub(crate) fn clip(&self, clip: &[f32], first: u64) -> Vec<f32> {
        let (real, imaginary) = analytic(clip);
        let [one, two] = [&self.gains[0], &self.gains[1]]
            .map(|gain| gain.run(first, clip.len(), self.grain_samples));
        let scale = 0.5_f32.sqrt();
        (0..clip.len())
            .map(|n| {
                let late = n.checked_sub(self.delay);
                let path = |at: Option<usize>, gain: (f32, f32)| match at {
                    None => (0.0, 0.0),
                    Some(at) => (
                        real[at] * gain.0 - imaginary[at] * gain.1,
                        real[at] * gain.1 + imaginary[at] * gain.0,
                    ),
                };
                let (a, b) = (path(Some(n), one[n]), path(late, two[n]));
                scale * turned((a.0 + b.0, a.1 + b.1), self.off_hz, n)
            })
            .collect()
    }
}

/// The real part of a complex sample, shifted by `hz`.
fn turned(sample: (f32, f32), hz: f32, n: usize) -> f32 {
    let turns = (f64::from(hz) * n as f64 / f64::from(SCRIPT_SAMPLE_RATE)).fract() as f32;
    sample.0 * (TAU * turns).cos() - sample.1 * (TAU * turns).sin()
}

/// The analytic signal of a clip in the voice band: its positive frequencies.
fn analytic(clip: &[f32]) -> (Vec<f32>, Vec<f32>) {
    let real = FirFilter::band(300.0, 2_700.0).clip(clip);
    let imaginary = FirFilter::quadrature(300.0, 2_700.0).clip(clip);
    (real, imaginary)
}

/// Speech as a receiver hears it that is tuned `off_hz` away from it.
pub(crate) fn mistuned(clip: &[f32], off_hz: f32) -> Vec<f32> {
    let (real, imaginary) = analytic(clip);
    let parts = real.into_iter().zip(imaginary).enumerate();
    let shifted: Vec<f32> = parts.map(|(n, both)| turned(both, off_hz, n)).collect();
    FirFilter::band(300.0, 2_700.0).clip(&shifted)
}

/// Picket-fencing: how much of the signal is left, 0 to 1, from sample `first` on.
pub(crate) fn pickets(
    random: &mut SeededRandom,
    fades_hz: f32,
    share: f32,
    first: u64,
    count: usize,
) -> Vec<f32> {
    // Of a Rayleigh fading signal this share of time lies below the level.
    let level = -(1.0 - share.clamp(0.0, 0.9)).ln();
    let gains = FadingGain::new(random, fades_hz).run(first, count, GAIN_STEP_SAMPLES);
    gains
        .into_iter()
        .map(|(real, imaginary)| {
            let power = real * real + imaginary * imaginary;
            // Limiting holds the level until the noise takes over, over 6 dB or so.
            let over = (power / level.max(1e-6)).clamp(0.25, 1.0);
            0.5 - 0.5 * (PI * (over - 0.25) / 0.75).cos()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tone(hz: f32, seconds: usize) -> Vec<f32> {
        let count = seconds * SCRIPT_SAMPLE_RATE as usize;
        let turns =
            |n: usize| (f64::from(hz) * n as f64 / f64::from(SCRIPT_SAMPLE_RATE)).fract() as f32;
        (0..count).map(|n| (TAU * turns(n)).sin()).collect()
    }

    fn power(clip: &[f32]) -> f32 {
        clip.iter().map(|x| x * x).sum::<f32>() / clip.len() as f32
    }

    /// Power of one frequency in a clip (Goertzel by hand).
    fn at_hz(clip: &[f32], hz: f32) -> f32 {
        let sum = |quarter: f32| {
            let wave = clip.iter().enumerate().map(|(n, x)| {
                let turns =
                    (f64::from(hz) * n as f64 / f64::from(SCRIPT_SAMPLE_RATE)).fract() as f32;
                x * (TAU * (turns + quarter)).cos()
            });
            wave.sum::<f32>() / clip.len() as f32
        };
        2.0 * (sum(0.0).powi(2) + sum(0.25).powi(2))
    }

    #[test]
    fn a_mistuned_tone_moves_by_so_many_hertz_and_loses_nothing() {
        let clip = mistuned(&tone(1_000.0, 2), 80.0);
        let middle = &clip[1_000..31_000];
        assert!(
            (at_hz(middle, 1_080.0) - 0.5).abs() < 0.02,
            "{}",
            at_hz(middle, 1_080.0)
        );
        assert!(at_hz(middle, 1_000.0) < 1e-3);
        assert!(at_hz(middle, 920.0) < 1e-3);
    }

    #[test]
    fn fading_keeps_the_mean_power_and_has_the_spread_asked_for() {
        let mut random = SeededRandom::stream(5, "fading");
        let (mut total, mut crossings) = (0.0, 0);
        let (channels, seconds) = (24, 20);
        for _ in 0..channels {
            let channel = WattersonChannel::new(&mut random, 0.001, 1.0, 0.0);
            let clip = channel.clip(&tone(1_500.0, seconds), 0);
            total += power(&clip);
            let levels: Vec<f32> = clip.chunks(1_600).map(power).collect();
            crossings += levels
                .windows(2)
                .filter(|w| (w[0] < 0.25) != (w[1] < 0.25))
                .count();
        }
        let mean = total / channels as f32;
        assert!((mean - 0.5).abs() < 0.12, "{mean}");
        // A Rayleigh process crosses a level near its median about twice the
        // standard deviation of its Doppler spectrum a second (Rice), 0.5 Hz here.
        let rate = crossings as f32 / (channels * seconds) as f32;
        assert!((0.5..3.0).contains(&rate), "{rate}");
    }

    #[test]
    fn pickets_take_the_share_of_time_that_was_asked_for() {
        let left = pickets(
            &mut SeededRandom::stream(9, "pickets"),
            12.0,
            0.2,
            0,
            60 * SCRIPT_SAMPLE_RATE as usize,
        );
        let down = left.iter().filter(|left| **left < 0.999).count() as f32 / left.len() as f32;
        assert!((0.14..0.26).contains(&down), "{down}");
    }
}
