//! The front end: log mel energies at 8 kHz, 100 frames a second, level-invariant.
//!
//! The bands are those of the Whisper front end (Slaney's mel scale, 80 bands to
//! 8 kHz) below 4 kHz, of which 62 lie whole; `model/mel.py` computes the same.

use std::sync::Arc;

use realfft::{RealFftPlanner, RealToComplex};

/// Samples a second that the model listens at.
pub const MODEL_SAMPLE_RATE: u32 = 8000;
/// Samples from frame to frame: 10 ms.
pub const MEL_HOP_SAMPLES: usize = 80;
/// Bands of a frame.
pub const MEL_BANDS: usize = 62;

const FFT_SIZE: usize = 200;
/// Decades below the loudest cell of the window that are kept.
const FLOOR_DECADES: f32 = 5.0;
/// Bands that Whisper lays between 0 and 8 kHz.
const WHISPER_BANDS: usize = 80;

/// Computes log mel energies of windows.
pub struct MelFrontEnd {
    fft: Arc<dyn RealToComplex<f32>>,
    window: Vec<f32>,
    /// For every band the first bin and the weights from there on.
    filters: Vec<(usize, Vec<f32>)>,
}

impl Default for MelFrontEnd {
    fn default() -> Self {
        Self::new()
    }
}

impl MelFrontEnd {
    /// A front end; building it takes well under a millisecond.
    pub fn new() -> Self {
        let turn = |i: usize| 2.0 * std::f32::consts::PI * i as f32 / FFT_SIZE as f32;
        Self {
            fft: RealFftPlanner::new().plan_fft_forward(FFT_SIZE),
            window: (0..FFT_SIZE).map(|i| 0.5 - 0.5 * turn(i).cos()).collect(),
            filters: filters(),
        }
    }

    /// Band-major energies (`BANDS` rows of `samples.len() / HOP` frames) of samples
    /// within ±1 at `RATE`. Fewer than 101 samples give no frames.
    pub fn energies(&self, samples: &[f32]) -> Vec<f32> {
        if samples.len() <= FFT_SIZE / 2 {
            return Vec::new();
        }
        let frames = samples.len() / MEL_HOP_SAMPLES;
        let mut out = vec![0.0; MEL_BANDS * frames];
        let mut input = self.fft.make_input_vec();
        let mut output = self.fft.make_output_vec();
        for frame in 0..frames {
            let start = (frame * MEL_HOP_SAMPLES) as i64 - (FFT_SIZE / 2) as i64;
            for (i, (cell, weight)) in input.iter_mut().zip(&self.window).enumerate() {
                *cell = weight * mirrored(samples, start + i as i64);
            }
            if self.fft.process(&mut input, &mut output).is_err() {
                return Vec::new();
            }
            let power: Vec<f32> = output.iter().map(|c| c.norm_sqr()).collect();
            for (band, (first, weights)) in self.filters.iter().enumerate() {
                let sum: f32 = weights
                    .iter()
                    .zip(&power[*first..])
                    .map(|(w, p)| w * p)
                    .sum();
                out[band * frames + frame] = (sum + 1e-10).log10();
            }
        }
        normalise(&mut out);
        out
    }
}

/// Sample `at`, with the ends reflected as PyTorch's centred transform does.
fn mirrored(samples: &[f32], at: i64) -> f32 {
    let last = samples.len() as i64 - 1;
    let at = if at < 0 { -at } else { at };
    let at = if at > last { 2 * last - at } else { at };
    usize::try_from(at)
        .ok()
        .and_then(|i| samples.get(i))
        .copied()
        .unwrap_or(0.0)
}

fn normalise(energies: &mut [f32]) {
    let loudest = energies.iter().copied().fold(f32::MIN, f32::max);
    for e in energies.iter_mut() {
        *e = e.max(loudest - FLOOR_DECADES);
    }
    let mean = energies.iter().map(|e| f64::from(*e)).sum::<f64>() / energies.len().max(1) as f64;
    for e in energies.iter_mut() {
        *e = (*e - mean as f32) / 4.0;
    }
}

fn filters() -> Vec<(usize, Vec<f32>)> {
    let step = 6.4_f64.ln() / 27.0;
    let to_mel = |hz: f64| {
        if hz < 1000.0 {
            hz * 3.0 / 200.0
        } else {
            15.0 + (hz / 1000.0).ln() / step
        }
    };
    let to_hz = |mel: f64| {
        if mel < 15.0 {
            mel * 200.0 / 3.0
        } else {
            1000.0 * (step * (mel - 15.0)).exp()
        }
    };
    let top = to_mel(8000.0);
    let edge = |k: usize| to_hz(top * k as f64 / (WHISPER_BANDS + 1) as f64);
    (0..MEL_BANDS)
        .map(|band| {
            let (a, b, c) = (edge(band), edge(band + 1), edge(band + 2));
            let weight = |bin: usize| {
                let hz = bin as f64 * f64::from(MODEL_SAMPLE_RATE) / FFT_SIZE as f64;
                ((hz - a) / (b - a)).min((c - hz) / (c - b)).max(0.0) * 2.0 / (c - a)
            };
            let bins = 0..=FFT_SIZE / 2;
            let first = bins.clone().find(|bin| weight(*bin) > 0.0).unwrap_or(0);
            let last = bins.rev().find(|bin| weight(*bin) > 0.0).unwrap_or(first);
            (
                first,
                (first..=last).map(|bin| weight(bin) as f32).collect(),
            )
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn noise(count: usize) -> Vec<f32> {
        let mut state = 1_u32;
        (0..count)
            .map(|_| {
                state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                (f64::from(state) / 4_294_967_296.0 - 0.5) as f32
            })
            .collect()
    }

    #[test]
    fn energies_are_those_of_librosa() {
        // Printed by model/mel_reference.py: band, frame, value.
        let reference = [
            (0, 0, -0.11293),
            (3, 7, 0.04518),
            (10, 25, -0.08125),
            (30, 1, -0.11468),
            (45, 33, -0.03217),
            (61, 49, 0.08059),
            (61, 0, 0.03330),
            (20, 12, 0.19034),
        ];
        let samples = noise(4000);
        let got = MelFrontEnd::new().energies(&samples);
        assert_eq!(got.len(), MEL_BANDS * 50);
        for (band, frame, value) in reference {
            let cell: f32 = got[band * 50 + frame];
            assert!(
                (cell - value).abs() < 1e-3,
                "band {band} frame {frame}: {cell} {value}"
            );
        }
    }

    #[test]
    fn level_makes_no_difference() {
        let loud = noise(1600);
        let quiet: Vec<f32> = loud.iter().map(|x| x * 0.03).collect();
        let (a, b) = (
            MelFrontEnd::new().energies(&loud),
            MelFrontEnd::new().energies(&quiet),
        );
        assert!(a.iter().zip(&b).all(|(x, y)| (x - y).abs() < 1e-3));
        assert!(MelFrontEnd::new().energies(&loud[..100]).is_empty());
    }
}
