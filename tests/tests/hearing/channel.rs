//! A sideband channel at 8 kHz: the band from 300 to 2,700 Hz, and white noise in it.

use std::f32::consts::TAU;

use jumpseat_simulator::random::SeededRandom;

/// Samples a second.
pub(crate) const RATE: u32 = 8000;
/// Samples in 20 ms.
const FRAME: usize = 160;
const TAPS: usize = 201;

/// `speech` with noise, `snr_db` under its active level, both within the band; a little
/// silence around. No ratio: no noise.
pub(crate) fn through(speech: &[f32], snr_db: Option<f32>, random: &mut SeededRandom) -> Vec<i16> {
    let quiet = vec![0.0; RATE as usize / 2];
    let clean = band(&[&quiet, speech, &quiet].concat());
    let noise: Vec<f32> = clean.iter().map(|_| random.normal()).collect();
    let noise = band(&noise);
    let power = |x: &[f32]| x.iter().map(|v| v * v).sum::<f32>() / x.len() as f32;
    let gain = snr_db.map_or(0.0, |db| {
        (active(&clean) / 10_f32.powf(db / 10.0) / power(&noise)).sqrt()
    });
    let mixed: Vec<f32> = clean
        .iter()
        .zip(&noise)
        .map(|(s, n)| s + gain * n)
        .collect();
    let level = 2300.0 / power(&mixed).sqrt().max(1e-9);
    mixed.iter().map(|x| (x * level) as i16).collect()
}

/// Noise alone, for so many seconds.
pub(crate) fn noise(seconds: usize, random: &mut SeededRandom) -> Vec<i16> {
    let white: Vec<f32> = (0..seconds * RATE as usize)
        .map(|_| random.normal())
        .collect();
    band(&white).iter().map(|x| (x * 3000.0) as i16).collect()
}

/// Mean power of the frames within 25 dB of the loudest twentieth.
fn active(speech: &[f32]) -> f32 {
    let mut power: Vec<f32> = speech
        .chunks_exact(FRAME)
        .map(|f| f.iter().map(|x| x * x).sum::<f32>() / FRAME as f32)
        .collect();
    power.sort_by(f32::total_cmp);
    let least = power[power.len() * 19 / 20] * 10_f32.powf(-2.5);
    let loud: Vec<f32> = power.into_iter().filter(|p| *p > least).collect();
    loud.iter().sum::<f32>() / loud.len().max(1) as f32
}

/// Windowed-sinc band pass.
fn band(x: &[f32]) -> Vec<f32> {
    let low = |hz: f32, n: f32| {
        let turn = TAU * hz / RATE as f32;
        if n == 0.0 {
            turn / (TAU / 2.0)
        } else {
            (turn * n).sin() / (TAU / 2.0 * n)
        }
    };
    let taps: Vec<f32> = (0..TAPS)
        .map(|k| {
            let n = k as f32 - (TAPS / 2) as f32;
            let window = 0.5 + 0.5 * (TAU * n / (TAPS + 1) as f32).cos();
            window * (low(2700.0, n) - low(300.0, n))
        })
        .collect();
    let padded = [vec![0.0; TAPS / 2], x.to_vec(), vec![0.0; TAPS / 2]].concat();
    padded
        .windows(TAPS)
        .map(|part| part.iter().zip(&taps).map(|(x, t)| x * t).sum())
        .collect()
}
