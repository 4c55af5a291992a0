//! Converts any sample rate to 16 kHz, with the low-pass filter that this needs.

use jumpseat_core::{AudioFrame, SAMPLE_RATE};
use rubato::audioadapter_buffers::direct::InterleavedSlice;
use rubato::{Fft, FixedSync, Indexing, Resampler as _, WindowFunction};

use super::queue::SamplePair;
use crate::error::RecorderError;

/// Converts one stream of frames. At 16 kHz samples pass unchanged, bit for bit. At other
/// rates the filter's delay is removed: output frame `n` belongs to the instant n/16000 s
/// after the first input.
pub struct SoundResampler {
    rate: u32,
    filter: Option<ResamplingFilter>,
    taken: u64,
    given: u64,
}

struct ResamplingFilter {
    fft: Fft<f32>,
    channels: usize,
    input: Vec<f32>,
    output: Vec<f32>,
    to_skip: usize,
}

impl SoundResampler {
    /// For frames at `rate` per second. `same`: both channels are one, which is filtered
    /// only once.
    ///
    /// # Errors
    /// [`RecorderError::Device`] for a rate that cannot be converted.
    pub fn new(rate: u32, same: bool) -> Result<Self, RecorderError> {
        let filter = if rate == SAMPLE_RATE {
            None
        } else {
            Some(ResamplingFilter::new(rate, if same { 1 } else { 2 })?)
        };
        Ok(Self {
            rate,
            filter,
            taken: 0,
            given: 0,
        })
    }

    /// Frames at 16 kHz for all that was taken so far, whether returned yet or not.
    pub fn due(&self) -> u64 {
        scaled(self.taken, self.rate)
    }

    /// Takes frames and appends what is ready to `out`.
    ///
    /// # Errors
    /// [`RecorderError::Device`] if the filter refuses its own sizes.
    pub fn push(
        &mut self,
        frames: &[SamplePair],
        out: &mut Vec<AudioFrame>,
    ) -> Result<(), RecorderError> {
        self.taken += frames.len() as u64;
        let before = out.len();
        match &mut self.filter {
            None => out.extend(frames.iter().map(|&[rx, tx]| AudioFrame { rx, tx })),
            Some(filter) => filter.push(frames, out)?,
        }
        self.given += (out.len() - before) as u64;
        Ok(())
    }

    /// Appends what the filter still holds, so that exactly [`Self::due`] frames were
    /// returned in all. Use a new resampler afterwards.
    ///
    /// # Errors
    /// [`RecorderError::Device`] if the filter refuses its own sizes.
    pub fn finish(&mut self, out: &mut Vec<AudioFrame>) -> Result<(), RecorderError> {
        let before = out.len();
        let missing = self.due().saturating_sub(self.given) as usize;
        if let Some(filter) = &mut self.filter {
            while out.len() - before < missing {
                let silence = [[0; 2]; 256];
                filter.push(&silence, out)?;
            }
        }
        out.truncate(before + missing);
        self.given += (out.len() - before) as u64;
        Ok(())
    }
}

impl ResamplingFilter {
    fn new(rate: u32, channels: usize) -> Result<Self, RecorderError> {
        // A filter of 40 ms passes speech unchanged, see the tests. Its length in input
        // frames is even, because otherwise its delay would not be a whole number.
        let unit = 2 * rate / gcd(rate, SAMPLE_RATE);
        let chunk = (rate / 25).div_ceil(unit) * unit;
        if chunk > rate / 4 {
            return Err(refused(rate, &"the ratio is too complex"));
        }
        let chunk = chunk as usize;
        let fft = Fft::new_custom(
            rate as usize,
            SAMPLE_RATE as usize,
            chunk,
            1,
            channels,
            WindowFunction::BlackmanHarris2,
            FixedSync::Input,
        )
        .map_err(|error| refused(rate, &error))?;
        let output = vec![0.0; fft.output_frames_max() * channels];
        let to_skip = fft.output_delay();
        Ok(Self {
            fft,
            channels,
            input: Vec::new(),
            output,
            to_skip,
        })
    }

    fn push(
        &mut self,
        frames: &[SamplePair],
        out: &mut Vec<AudioFrame>,
    ) -> Result<(), RecorderError> {
        for frame in frames {
            let samples = frame.iter().take(self.channels);
            self.input.extend(samples.map(|&sample| f32::from(sample)));
        }
        loop {
            let needed = self.fft.input_frames_next();
            if self.input.len() < needed * self.channels {
                return Ok(());
            }
            self.convert(needed, out)?;
            self.input.drain(..needed * self.channels);
        }
    }

    fn convert(
        &mut self,
        frames_in: usize,
        out: &mut Vec<AudioFrame>,
    ) -> Result<(), RecorderError> {
        let room = self.output.len() / self.channels;
        let refuse = |error: &dyn std::fmt::Display| refused(SAMPLE_RATE, error);
        let input = InterleavedSlice::new(&self.input, self.channels, frames_in)
            .map_err(|error| refuse(&error))?;
        let mut output = InterleavedSlice::new_mut(&mut self.output, self.channels, room)
            .map_err(|error| refuse(&error))?;
        let (_, given) = self
            .fft
            .process_into_buffer(&input, &mut output, Some(&Indexing::new()))
            .map_err(|error| refuse(&error))?;
        let skip = self.to_skip.min(given);
        self.to_skip -= skip;
        let ready = self
            .output
            .chunks_exact(self.channels)
            .take(given)
            .skip(skip);
        for samples in ready {
            if let (Some(&rx), Some(&tx)) = (samples.first(), samples.last()) {
                let (rx, tx) = (nearest(rx), nearest(tx));
                out.push(AudioFrame { rx, tx });
            }
        }
        Ok(())
    }
}

const fn gcd(a: u32, b: u32) -> u32 {
    if b == 0 { a } else { gcd(b, a % b) }
}

fn refused(rate: u32, error: &dyn std::fmt::Display) -> RecorderError {
    RecorderError::Device(format!(
        "sound at {rate} Hz cannot be converted to 16000 Hz ({error}); set sound.rate = 48000"
    ))
}

/// Frames at 16 kHz in the time of `count` frames at `rate`.
pub(super) fn scaled(count: u64, rate: u32) -> u64 {
    let exact = u128::from(count) * u128::from(SAMPLE_RATE);
    (exact / u128::from(rate.max(1))) as u64
}

/// Rounds to the nearest sample value. The cast truncates, which is far cheaper than a call
/// of `round`, and saturates: a value beyond full scale clips as it would in a sound card.
pub(super) fn nearest(sample: f32) -> i16 {
    (sample + 0.5_f32.copysign(sample)) as i16
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use super::*;

    const PEAK: f64 = 16_000.0;

    fn tone(hertz: f64, rate: u32, count: usize) -> Vec<SamplePair> {
        (0..count)
            .map(|n| {
                let value = PEAK * (TAU * hertz * n as f64 / f64::from(rate)).sin();
                let value = value.round() as i16;
                [value, -value]
            })
            .collect()
    }

    fn convert(frames: &[SamplePair], rate: u32) -> Vec<AudioFrame> {
        let mut resampler = SoundResampler::new(rate, false).unwrap();
        let mut out = Vec::new();
        // In pieces of an odd size, as devices deliver them.
        for piece in frames.chunks(937) {
            resampler.push(piece, &mut out).unwrap();
        }
        resampler.finish(&mut out).unwrap();
        assert_eq!(out.len() as u64, scaled(frames.len() as u64, rate));
        out
    }

    /// Root mean square of the middle of a signal, in dB below the tone's.
    fn level(samples: impl Iterator<Item = f64>) -> f64 {
        let samples: Vec<f64> = samples.collect();
        let power = samples.iter().map(|s| s * s).sum::<f64>() / samples.len() as f64;
        10.0 * (power / (PEAK * PEAK / 2.0)).log10()
    }

    const RATES: [u32; 8] = [
        8_000, 11_025, 22_050, 32_000, 44_100, 48_000, 96_000, 192_000,
    ];

    #[test]
    fn at_16_khz_every_sample_passes_untouched() {
        let all: Vec<SamplePair> = (i16::MIN..=i16::MAX).map(|n| [n, !n]).collect();
        for (frame, n) in convert(&all, SAMPLE_RATE).iter().zip(i16::MIN..=i16::MAX) {
            assert_eq!((frame.rx, frame.tx), (n, !n));
        }
    }

    /// The reference is the same tone computed at 16 kHz: the remainder after subtracting
    /// it contains all ripple, delay error, noise and rounding.
    #[test]
    fn the_passband_is_the_computed_tone_to_60_db() {
        for rate in RATES {
            for hertz in [100.0, 300.0, 1_000.0, 2_700.0, 3_500.0, 5_000.0, 7_000.0] {
                if hertz > f64::from(rate) * 0.43 {
                    continue;
                }
                let out = convert(&tone(hertz, rate, rate as usize), rate);
                let middle = 4_000..12_000;
                let wanted = |n: usize| PEAK * (TAU * hertz * n as f64 / 16_000.0).sin();
                let left = level(middle.clone().map(|n| f64::from(out[n].rx) - wanted(n)));
                assert!(left < -60.0, "{rate} Hz, {hertz} Hz: {left:.1} dB");
                let other = level(middle.map(|n| f64::from(out[n].tx) + wanted(n)));
                assert!(other < -60.0, "{rate} Hz, {hertz} Hz: {other:.1} dB");
            }
        }
    }

    #[test]
    fn what_would_alias_is_down_by_75_db() {
        for rate in RATES.into_iter().filter(|&rate| rate > 17_000) {
            for hertz in [
                8_300.0, 8_700.0, 9_500.0, 10_500.0, 12_000.0, 15_000.0, 15_900.0, 20_000.0,
                40_000.0,
            ] {
                if hertz > f64::from(rate) / 2.0 - 100.0 {
                    continue;
                }
                let out = convert(&tone(hertz, rate, rate as usize), rate);
                let left = level(out[4_000..12_000].iter().map(|frame| f64::from(frame.rx)));
                assert!(left < -75.0, "{rate} Hz, {hertz} Hz: {left:.1} dB");
            }
        }
    }

    #[test]
    fn one_channel_for_both_gives_both() {
        let mut resampler = SoundResampler::new(48_000, true).unwrap();
        let mut out = Vec::new();
        let same: Vec<SamplePair> = tone(1_000.0, 48_000, 9_600)
            .iter()
            .map(|frame| [frame[0]; 2])
            .collect();
        resampler.push(&same, &mut out).unwrap();
        assert!(out.len() > 2_000 && out.iter().all(|frame| frame.rx == frame.tx));
        assert!(out.iter().any(|frame| frame.rx > 15_000));
    }
}
