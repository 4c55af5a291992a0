//! Samples to levels in eight bands of the voice channel.

use std::sync::Arc;

use realfft::num_complex::Complex32;
use realfft::{RealFftPlanner, RealToComplex};

/// Samples per second that the detector is made for.
pub const SAMPLE_RATE: u32 = 16_000;
/// Samples from one frame to the next: 16 ms.
pub(super) const HOP_SAMPLES: usize = 256;
/// Bands of about 300 Hz from 300 to 2,700 Hz, the width of a sideband channel.
pub(super) const BANDS: usize = 8;

const FRAME_SAMPLES: usize = 512;
/// First bin of the first band at 31.25 Hz a bin, and bins in each band.
const FIRST_BIN: usize = 10;
const BAND_BINS: usize = 10;
/// Power added to every band, so that digital silence has a level: that of
/// noise at about -80 dB below full scale.
const SILENCE: f32 = 1e-8;

/// A sample counts for at most this many times the mean magnitude, so that the
/// spikes of an ignition do not count. Voices reach it now and then.
const SPIKE_LIMIT: f32 = 4.0;
/// Share of a sample in the mean magnitude: a time constant of 60 ms.
const MEAN_SHARE: f32 = 0.001;

/// The mean magnitude is taken to be at least this, one step of 16 bits, so that
/// sound after digital silence comes through.
const QUIETEST: f32 = 1.0 / 32_768.0;

/// Cuts the stream into overlapping frames and measures each.
pub(super) struct BandSpectrum {
    fft: Arc<dyn RealToComplex<f32>>,
    window: Vec<f32>,
    mean: f32,
    /// The last `FRAME_SAMPLES` samples; the newest is before `next`.
    ring: Vec<f32>,
    next: usize,
    until_due: usize,
    input: Vec<f32>,
    output: Vec<Complex32>,
    scratch: Vec<Complex32>,
}

impl BandSpectrum {
    pub(super) fn new() -> Self {
        let fft = RealFftPlanner::<f32>::new().plan_fft_forward(FRAME_SAMPLES);
        // Hann, scaled so that a band's value is its mean square.
        let hann = |index: usize| {
            let phase = std::f32::consts::TAU * index as f32 / FRAME_SAMPLES as f32;
            0.5 - 0.5 * phase.cos()
        };
        let power: f32 = (0..FRAME_SAMPLES).map(|index| hann(index).powi(2)).sum();
        let scale = (2.0 / (power * FRAME_SAMPLES as f32)).sqrt();
        Self {
            window: (0..FRAME_SAMPLES)
                .map(|index| hann(index) * scale)
                .collect(),
            mean: 1.0,
            ring: vec![0.0; FRAME_SAMPLES],
            next: 0,
            until_due: FRAME_SAMPLES,
            input: fft.make_input_vec(),
            output: fft.make_output_vec(),
            scratch: fft.make_scratch_vec(),
            fft,
        }
    }

    /// Forgets the samples: the next one begins another over.
    pub(super) fn restart(&mut self) {
        self.until_due = FRAME_SAMPLES;
    }

    /// Takes one sample; true when a frame is complete.
    pub(super) fn take(&mut self, sample: i16) -> bool {
        let sample = f32::from(sample) / 32_768.0;
        let limit = SPIKE_LIMIT * self.mean;
        let sample = sample.clamp(-limit, limit);
        self.mean += MEAN_SHARE * (sample.abs() - self.mean);
        self.mean = self.mean.max(QUIETEST);
        self.ring[self.next] = sample;
        self.next = (self.next + 1) % FRAME_SAMPLES;
        self.until_due -= 1;
        if self.until_due > 0 {
            return false;
        }
        self.until_due = HOP_SAMPLES;
        true
    }

    /// Levels of the last frame in dB.
    pub(super) fn levels(&mut self) -> [f32; BANDS] {
        let (newer, older) = self.ring.split_at(self.next);
        let samples = older.iter().chain(newer);
        for ((input, sample), window) in self.input.iter_mut().zip(samples).zip(&self.window) {
            *input = sample * window;
        }
        // The only error is a wrong length, and the buffers are the plan's own.
        let done =
            self.fft
                .process_with_scratch(&mut self.input, &mut self.output, &mut self.scratch);
        if done.is_err() {
            return [0.0; BANDS];
        }
        std::array::from_fn(|band| {
            let from = FIRST_BIN + band * BAND_BINS;
            let power: f32 = self.output[from..from + BAND_BINS]
                .iter()
                .map(Complex32::norm_sqr)
                .sum();
            10.0 * (power + SILENCE).log10()
        })
    }
}
