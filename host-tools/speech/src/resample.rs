//! Changes the sampling rate: windowed sinc, any ratio of whole numbers.

use std::f64::consts::PI;

/// Zero crossings of the sinc on each side; about 60 dB of stop band.
const SINC_LOBES: f64 = 16.0;
/// Pass band as a share of the lower of the two rates' halves.
const PASS_BAND_SHARE: f64 = 0.94;

/// Moments between two samples that have a kernel of their own: rates that share no large factor
/// have more, and the nearest earlier one is 66 dB away.
const KERNEL_PHASES: u64 = 2048;

/// `samples` at `from` hertz, as samples at `to` hertz. Empty stays empty.
///
/// Rates must not be zero; the result has `len * to / from` samples, rounded down.
pub fn resample(samples: &[f32], from: u32, to: u32) -> Vec<f32> {
    if from == to || samples.is_empty() || from == 0 || to == 0 {
        return samples.to_vec();
    }
    let common = gcd(from, to);
    let (up, down) = (u64::from(to / common), u64::from(from / common));
    let cutoff = PASS_BAND_SHARE * (f64::from(to.min(from)) / f64::from(from)).min(1.0);
    let reach = (SINC_LOBES / cutoff).ceil() as i64;
    let steps = up.min(KERNEL_PHASES);
    let phases: Vec<Vec<f32>> = (0..steps)
        .map(|phase| kernel(phase as f64 / steps as f64, reach, cutoff))
        .collect();
    let count = samples.len() as u64 * up / down;
    (0..count)
        .map(|k| {
            let at = k * down;
            let (centre, phase) = ((at / up) as i64, (at % up * steps / up) as usize);
            let first = centre - reach;
            phases[phase]
                .iter()
                .zip(first..)
                .filter_map(|(weight, i)| usize::try_from(i).ok().map(|i| (weight, i)))
                .filter_map(|(weight, i)| samples.get(i).map(|x| weight * x))
                .sum()
        })
        .collect()
}

/// Weights of the input samples from `-reach` to `reach + 1` for an output that lies
/// `fraction` of a sample after sample 0; they sum to one.
fn kernel(fraction: f64, reach: i64, cutoff: f64) -> Vec<f32> {
    let weights: Vec<f64> = (-reach..=reach + 1)
        .map(|i| {
            let x = i as f64 - fraction;
            let window = (PI * x / (2.0 * (reach as f64 + 1.0)))
                .cos()
                .max(0.0)
                .powi(2);
            window * sinc(cutoff * x)
        })
        .collect();
    let sum: f64 = weights.iter().sum();
    weights.iter().map(|w| (w / sum) as f32).collect()
}

fn sinc(x: f64) -> f64 {
    if x.abs() < 1e-9 {
        1.0
    } else {
        (PI * x).sin() / (PI * x)
    }
}

fn gcd(a: u32, b: u32) -> u32 {
    if b == 0 { a } else { gcd(b, a % b) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(hz: f64, from: u32, to: u32, gain: f64) {
        let tone = |rate: u32, n: usize| -> Vec<f32> {
            (0..n)
                .map(|i| (2.0 * PI * hz * i as f64 / f64::from(rate)).sin() as f32)
                .collect()
        };
        let got = resample(&tone(from, from as usize), from, to);
        let wanted = tone(to, to as usize);
        let middle = 200..got.len() - 200;
        let worst = middle
            .map(|i| (f64::from(got[i]) - gain * f64::from(wanted[i])).abs())
            .fold(0.0, f64::max);
        assert!(worst < 1e-2, "{hz} Hz from {from} to {to}: {worst}");
    }

    #[test]
    fn tones_in_the_pass_band_come_through_unchanged_and_others_do_not() {
        for (hz, from, to, gain) in [
            (440.0, 16000, 8000, 1.0),
            (3000.0, 48000, 8000, 1.0),
            (3300.0, 44100, 8000, 1.0),
            (1000.0, 8000, 16000, 1.0),
            (2500.0, 11025, 8000, 1.0),
            (1200.0, 44_101, 8000, 1.0),
            (6100.0, 16000, 8000, 0.0),
            (9000.0, 48000, 8000, 0.0),
        ] {
            check(hz, from, to, gain);
        }
    }

    #[test]
    fn lengths_follow_the_ratio() {
        assert_eq!(resample(&[0.0; 441], 44100, 8000).len(), 80);
        assert!(resample(&[], 44100, 8000).is_empty());
    }
}
