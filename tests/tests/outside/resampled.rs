//! The recogniser's change of sampling rate against the library soxr.

use std::f64::consts::TAU;

use jumpseat_simulator::random::SeededRandom;
use jumpseat_speech::resample::resample;

use crate::reference::reference;

/// Highest frequency of the voices' band, in hertz; what lies above it is of no account.
const HIGHEST: f64 = 3400.0;

/// A second of many tones below `HIGHEST`.
fn tones(rate: u32) -> Vec<f32> {
    let mut random = SeededRandom::stream(7, "tones");
    let tones: Vec<(f64, f64)> = (1..40)
        .map(|k| (HIGHEST * f64::from(k) / 40.0, f64::from(random.normal())))
        .collect();
    let at = |i: u32| f64::from(i) / f64::from(rate);
    (0..rate)
        .map(|i| {
            tones
                .iter()
                .map(|(hz, turn)| (TAU * (hz * at(i) + turn)).sin() / 40.0)
                .sum::<f64>() as f32
        })
        .collect()
}

#[track_caller]
fn check(from: u32) {
    let samples = tones(from);
    let lines: Vec<String> = samples.iter().map(f32::to_string).collect();
    let told = reference(
        "resampled.py",
        &format!("{from} 8000\n{}", lines.join("\n")),
    );
    let told: Vec<f32> = told.lines().map(|line| line.parse().unwrap()).collect();
    let ours = resample(&samples, from, 8000);
    assert!(ours.len().abs_diff(told.len()) <= 1);
    let power = |x: &mut dyn Iterator<Item = f32>| x.map(|v| f64::from(v * v)).sum::<f64>();
    let inner = 400..told.len().min(ours.len()) - 400;
    let apart = power(&mut inner.clone().map(|i| ours[i] - told[i]));
    let db = 10.0 * (apart / power(&mut inner.map(|i| told[i]))).log10();
    println!(
        "figure: resampling from {from} Hz differs from the reference by {db:.0} dB, at most -50 dB"
    );
    assert!(db < -50.0, "{from}: {db:.1} dB");
}

#[test]
fn voices_are_resampled_as_the_reference_library_resamples_them() {
    [16_000, 44_100, 48_000, 11_025].into_iter().for_each(check);
}
