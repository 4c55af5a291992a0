//! Samples to a PNG in 256 colours: the waveform above, the spectrogram below.

use std::num::TryFromIntError;

use png::{BitDepth, ColorType, Encoder, EncodingError};
use realfft::RealFftPlanner;

use crate::sound::scale::PictureScale;

/// The range of speech through a radio, in hertz.
const PITCH_RANGE_HZ: (f64, f64) = (150.0, 3_500.0);
/// Length of a spectrum's window in seconds.
const WINDOW_S: f64 = 0.032;
/// From the floor of noise to the brightest colour, in decibels.
const DEPTH_DB: f32 = 40.0;
/// The colour of the waveform: the last but one of the table.
const WAVE_COLOUR: u8 = 254;
/// The widest picture, in pixels; no strip is that long.
const WIDEST_PICTURE: usize = 8_192;

/// Why there is no picture.
#[derive(Debug, thiserror::Error)]
#[error("the picture of the sound could not be made: {0}")]
pub(super) enum PaintError {
    /// The encoder could not.
    Png(#[from] EncodingError),
    /// It would be too wide.
    Size(#[from] TryFromIntError),
}

/// One picture of all samples.
pub(super) fn paint(
    samples: &[i16],
    rate: f64,
    scale: &PictureScale,
) -> Result<Vec<u8>, PaintError> {
    let width = (samples.len() as f64 / rate * scale.per_second).ceil();
    let width = (width as usize).clamp(1, WIDEST_PICTURE);
    let (top, low) = (scale.wave as usize, scale.spectrum as usize);
    let mut image = vec![0_u8; width * (top + low)];
    wave(samples, &mut image, width, top);
    let columns = spectra(samples, rate, width, low);
    let (floor, span) = range(&columns);
    for (x, column) in columns.iter().enumerate() {
        for (row, level) in column.iter().enumerate() {
            let share = ((level - floor) / span).clamp(0.0, 1.0);
            // High pitch on top.
            let y = top + low - 1 - row;
            image[y * width + x] = (share * 250.0) as u8;
        }
    }
    encode(&image, width, top + low)
}

/// The lowest to the highest sample of every column, scaled to fit.
fn wave(samples: &[i16], image: &mut [u8], width: usize, height: usize) {
    let peak = samples.iter().map(|sample| sample.unsigned_abs()).max();
    let peak = f64::from(peak.unwrap_or(1).max(64));
    let middle = height as f64 / 2.0;
    for x in 0..width {
        let from = x * samples.len() / width;
        let to = ((x + 1) * samples.len() / width).max(from + 1);
        let part = samples.get(from..to.min(samples.len())).unwrap_or_default();
        let least = f64::from(part.iter().copied().min().unwrap_or(0)) / peak;
        let most = f64::from(part.iter().copied().max().unwrap_or(0)) / peak;
        let row = |value: f64| (middle - value * (middle - 2.0)) as usize;
        for y in row(most)..=row(least).min(height - 1) {
            image[y * width + x] = WAVE_COLOUR;
        }
    }
}

/// Levels in decibels, a column a pixel, the lowest pitch first.
fn spectra(samples: &[i16], rate: f64, width: usize, height: usize) -> Vec<Vec<f32>> {
    let size = ((rate * WINDOW_S) as usize).next_power_of_two().max(64);
    let fft = RealFftPlanner::<f32>::new().plan_fft_forward(size);
    let (mut input, mut output) = (fft.make_input_vec(), fft.make_output_vec());
    let turn = std::f32::consts::TAU / size as f32;
    let window: Vec<f32> = (0..size)
        .map(|n| 0.5 - 0.5 * (n as f32 * turn).cos())
        .collect();
    let bin = |hertz: f64| (hertz / rate * size as f64) as usize;
    (0..width)
        .map(|x| {
            let centre = (2 * x + 1) * samples.len() / (2 * width);
            for (n, (cell, weight)) in input.iter_mut().zip(&window).enumerate() {
                let at = (centre + n).checked_sub(size / 2);
                let sample = at.and_then(|at| samples.get(at)).copied().unwrap_or(0);
                *cell = f32::from(sample) * weight;
            }
            // The lengths are the plan's own, which is all that can be wrong.
            let _ = fft.process(&mut input, &mut output);
            (0..height)
                .map(|row| {
                    let edge = |row: usize| {
                        PITCH_RANGE_HZ.0
                            + (PITCH_RANGE_HZ.1 - PITCH_RANGE_HZ.0) * row as f64 / height as f64
                    };
                    let (from, to) = (bin(edge(row)), bin(edge(row + 1)));
                    let part = output.get(from..=to.max(from)).unwrap_or_default();
                    let power = part
                        .iter()
                        .map(|value| value.norm_sqr())
                        .fold(0.0, f32::max);
                    10.0 * power.max(1.0).log10()
                })
                .collect()
        })
        .collect()
}

/// The level of the quiet parts, and the range above it.
fn range(columns: &[Vec<f32>]) -> (f32, f32) {
    let mut levels: Vec<f32> = columns.iter().flatten().copied().collect();
    levels.sort_by(f32::total_cmp);
    let at = |share: usize| levels.get(levels.len() * share / 1000).copied();
    let (quiet, loud) = (at(400).unwrap_or(0.0), at(998).unwrap_or(0.0));
    (quiet, (loud - quiet).clamp(12.0, DEPTH_DB))
}

fn encode(image: &[u8], width: usize, height: usize) -> Result<Vec<u8>, PaintError> {
    let mut file = Vec::new();
    let mut encoder = Encoder::new(&mut file, u32::try_from(width)?, u32::try_from(height)?);
    encoder.set_color(ColorType::Indexed);
    encoder.set_depth(BitDepth::Eight);
    encoder.set_palette(palette());
    let mut writer = encoder.write_header()?;
    writer.write_image_data(image)?;
    writer.finish()?;
    Ok(file)
}

/// From asphalt over amber to the white of a road line; then the waveform's colour.
fn palette() -> Vec<u8> {
    const STOPS: [(f32, [f32; 3]); 5] = [
        (0.0, [24.0, 26.0, 29.0]),
        (0.3, [66.0, 48.0, 28.0]),
        (0.6, [176.0, 104.0, 12.0]),
        (0.85, [255.0, 184.0, 40.0]),
        (1.0, [255.0, 248.0, 226.0]),
    ];
    let mut table = Vec::with_capacity(256 * 3);
    for index in 0..=255_u8 {
        let share = f32::from(index) / 250.0;
        let above = STOPS
            .iter()
            .position(|stop| stop.0 >= share)
            .unwrap_or(4)
            .max(1);
        let (from, to) = (STOPS[above - 1], STOPS[above]);
        let part = ((share - from.0) / (to.0 - from.0)).clamp(0.0, 1.0);
        for (one, other) in from.1.into_iter().zip(to.1) {
            table.push((one + (other - one) * part) as u8);
        }
    }
    let wave = usize::from(WAVE_COLOUR) * 3;
    table[wave..wave + 3].copy_from_slice(&[214, 219, 222]);
    table
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sound::PICTURE_SCALE;

    fn decode(png: &[u8]) -> (u32, u32, Vec<u8>) {
        let mut reader = png::Decoder::new(std::io::Cursor::new(png))
            .read_info()
            .unwrap();
        let mut image = vec![0; reader.output_buffer_size().unwrap()];
        let info = reader.next_frame(&mut image).unwrap();
        (info.width, info.height, image)
    }

    #[test]
    fn a_tone_is_a_bright_line_at_its_pitch() {
        let tone = |n: u32| ((f64::from(n) / 16.0 * std::f64::consts::TAU).sin() * 9e3) as i16;
        let samples: Vec<i16> = (0..32_000).map(tone).collect();
        let (width, height, image) = decode(&paint(&samples, 16_000.0, &PICTURE_SCALE).unwrap());
        assert_eq!((width, height), (220, 120));
        let column = |y: u32| image[(y * width + 110) as usize];
        let brightest = (PICTURE_SCALE.wave..height)
            .max_by_key(|&y| column(y))
            .unwrap();
        let hertz = f64::from(height - 1 - brightest) / f64::from(PICTURE_SCALE.spectrum);
        let hertz = PITCH_RANGE_HZ.0 + (PITCH_RANGE_HZ.1 - PITCH_RANGE_HZ.0) * hertz;
        assert!((hertz - 1_000.0).abs() < 80.0, "{hertz}");
    }

    #[test]
    fn silence_and_a_single_sample_have_pictures_too() {
        for samples in [vec![0; 8_000], vec![7], vec![i16::MIN; 3]] {
            assert!(
                !paint(&samples, 16_000.0, &PICTURE_SCALE)
                    .unwrap()
                    .is_empty()
            );
        }
    }
}
