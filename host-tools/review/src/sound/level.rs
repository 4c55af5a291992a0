//! Brings a stretch of sound to the same loudness as all others.

use ebur128::{EbuR128, Mode};

/// Speech on a desk is comfortable here (our choice).
const TARGET_LUFS: f64 = -18.0;
/// Limits how much noise alone is amplified.
const MOST_GAIN_DB: f64 = 36.0;
/// Above this share of full scale peaks are compressed instead of clipped.
const KNEE: f64 = 0.6;

/// The samples at the target loudness (EBU R 128, whose gate leaves the pauses out).
pub(super) fn level(samples: &[i16], rate: u32) -> Vec<i16> {
    let gain = gain(samples, rate);
    let full = f64::from(i16::MAX);
    samples
        .iter()
        .map(|&sample| (bend(f64::from(sample) / full * gain) * full).round() as i16)
        .collect()
}

fn gain(samples: &[i16], rate: u32) -> f64 {
    let loudness = EbuR128::new(1, rate, Mode::I).and_then(|mut meter| {
        meter.add_frames_i16(samples)?;
        meter.loudness_global()
    });
    let loudness = match loudness {
        Ok(loudness) if loudness.is_finite() => loudness,
        // Shorter than the meter's window, or silent: its plain power.
        _ => power_db(samples),
    };
    let wanted = TARGET_LUFS - loudness;
    10_f64.powf(wanted.clamp(-MOST_GAIN_DB, MOST_GAIN_DB) / 20.0)
}

fn power_db(samples: &[i16]) -> f64 {
    let sum: f64 = samples.iter().map(|&s| f64::from(s).powi(2)).sum();
    let mean = sum / (samples.len().max(1) as f64) / f64::from(i16::MAX).powi(2);
    10.0 * mean.max(1e-10).log10()
}

/// The value below the knee; compressed above it, never beyond ±1.
fn bend(value: f64) -> f64 {
    let size = value.abs();
    if size <= KNEE {
        return value;
    }
    let over = (size - KNEE) / (1.0 - KNEE);
    (KNEE + (1.0 - KNEE) * over.tanh()).copysign(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tone(peak: f64, samples: usize) -> Vec<i16> {
        let wave = |n: usize| (n as f64 * 0.4).sin() * peak * f64::from(i16::MAX);
        (0..samples).map(|n| wave(n) as i16).collect()
    }

    #[test]
    fn weak_and_strong_come_out_alike() {
        for samples in [32_000, 3_000] {
            let loudness = [0.02, 0.1, 0.5, 0.9].map(|peak| {
                let levelled = level(&tone(peak, samples), 16_000);
                power_db(&levelled)
            });
            let spread = loudness.iter().fold(f64::MIN, |a, &b| a.max(b))
                - loudness.iter().fold(f64::MAX, |a, &b| a.min(b));
            assert!(spread < 1.0, "{loudness:?}");
        }
    }

    #[test]
    fn silence_stays_silent_and_nothing_wraps_round() {
        assert_eq!(level(&[0; 100], 16_000), [0; 100]);
        assert!(level(&[], 16_000).is_empty());
        let square: Vec<i16> = (0..32_000)
            .map(|n| if n % 80 < 40 { 900 } else { -900 })
            .collect();
        let loud = level(&square, 16_000);
        assert!(
            square
                .iter()
                .zip(&loud)
                .all(|(a, b)| a.signum() == b.signum())
        );
    }
}
