//! Signals made by arithmetic, and where speech must and must not be found.

use std::f32::consts::TAU;

use super::{SAMPLE_RATE, SpeechDetector};

const RATE: f32 = SAMPLE_RATE as f32;
/// Root mean square of the channel noise in every signal here.
const NOISE: f32 = 0.02;

/// Samples of `seconds`, each from its time.
fn signal(seconds: f32, mut value: impl FnMut(f32) -> f32) -> Vec<f32> {
    (0..(seconds * RATE) as u32)
        .map(|index| value(index as f32 / RATE))
        .collect()
}

/// Noise with a bell-shaped distribution and a flat spectrum.
fn noise(seconds: f32, rms: f32) -> Vec<f32> {
    let mut state = 0x2545_f491_4f6c_dd1d_u64;
    let mut uniform = move || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 40) as f32 / (1_u64 << 24) as f32 - 0.5
    };
    // The sum of twelve has a variance of one (central limit).
    signal(seconds, |_| rms * (0..12).map(|_| uniform()).sum::<f32>())
}

/// A voice as far as loudness goes: twenty partials of 120 Hz in syllables of
/// uneven length, three to five a second.
fn voice(seconds: f32, rms: f32) -> Vec<f32> {
    signal(seconds, |t| {
        let pace = t + 0.05 * (TAU * 0.7 * t).sin();
        let syllable = (TAU * 2.0 * pace).sin().powi(2) * (0.6 + 0.4 * (TAU * 0.5 * t).sin());
        let partials: f32 = (3_u8..23)
            .map(|partial| (TAU * 120.0 * f32::from(partial) * t).sin())
            .sum();
        rms * syllable * partials / 2.0
    })
}

/// Adds `part` to `whole` from a second on.
fn add(whole: &mut [f32], at_s: f32, part: &[f32]) {
    let from = (at_s * RATE) as usize;
    for (sum, value) in whole[from..].iter_mut().zip(part) {
        *sum += value;
    }
}

fn found(detector: &mut SpeechDetector, signal: &[f32], piece: usize) -> Vec<(f64, f64)> {
    let samples: Vec<i16> = signal
        .iter()
        .map(|value| (value.clamp(-1.0, 1.0) * 32_767.0) as i16)
        .collect();
    for samples in samples.chunks(piece) {
        detector.push(samples);
    }
    detector
        .finish()
        .iter()
        .map(|stretch| (stretch.start_s, stretch.end_s))
        .collect()
}

/// The signal has speech from the first to the second time, within 0.5 s at
/// either end and with no more than half a second missing in between; or none.
#[track_caller]
fn check(name: &str, signal: &[f32], expected: Option<(f64, f64)>) {
    let stretches = found(&mut SpeechDetector::new(), signal, 1_000);
    let Some((start_s, end_s)) = expected else {
        assert_eq!(stretches, [], "{name}");
        return;
    };
    let first = stretches.first().map_or(f64::NAN, |first| first.0);
    let last = stretches.last().map_or(f64::NAN, |last| last.1);
    assert!((first - start_s).abs() < 0.5, "{name}: {stretches:?}");
    assert!((last - end_s).abs() < 0.5, "{name}: {stretches:?}");
    let spoken: f64 = stretches
        .iter()
        .map(|(start_s, end_s)| end_s - start_s)
        .sum();
    assert!(end_s - start_s - spoken < 1.0, "{name}: {stretches:?}");
}

#[test]
fn a_voice_is_found_in_noise_of_its_own_power_and_in_none() {
    for (name, rms) in [
        ("20 dB", 0.2),
        ("12 dB", 0.08),
        ("6 dB", 0.04),
        ("3 dB", 0.028),
    ] {
        let mut all = noise(20.0, NOISE);
        add(&mut all, 6.0, &voice(5.0, rms));
        check(name, &all, Some((6.0, 11.0)));
    }
    let mut silence = signal(20.0, |_| 0.0);
    add(&mut silence, 6.0, &voice(5.0, 0.1));
    check("no noise at all", &silence, Some((6.0, 11.0)));
}

#[test]
fn what_is_not_a_voice_is_not_taken_for_one() {
    let with = |seconds: f32, value: &dyn Fn(f32) -> f32| {
        let mut all = noise(seconds, NOISE);
        add(&mut all, 0.0, &signal(seconds, value));
        all
    };
    check("nothing", &[], None);
    check("digital silence", &signal(60.0, |_| 0.0), None);
    check("noise", &noise(300.0, NOISE), None);
    check("faint noise", &noise(60.0, 1e-4), None);
    let tone = |t: f32| (TAU * 800.0 * t).sin();
    check("a carrier", &with(60.0, &|t| 0.1 * tone(t)), None);
    check(
        "a carrier comes and goes",
        &with(60.0, &|t| {
            if (t / 3.0).fract() < 0.5 {
                0.1 * tone(t)
            } else {
                0.0
            }
        }),
        None,
    );
    // Dots and dashes of 20 words a minute, weak and strong.
    for level in [0.02, 0.1] {
        check(
            "Morse",
            &with(60.0, &|t| {
                let unit = (t / 0.06) as u32 % 12;
                if [0, 2, 3, 4, 6, 8, 9, 10].contains(&unit) {
                    level * tone(t)
                } else {
                    0.0
                }
            }),
            None,
        );
    }
    check(
        "the noise rises and stays",
        &noise(60.0, NOISE)
            .iter()
            .enumerate()
            .map(|(index, value)| if index > 400_000 { 3.0 * value } else { *value })
            .collect::<Vec<_>>(),
        None,
    );
    check(
        "a static crash every five seconds",
        &noise(60.0, NOISE)
            .iter()
            .enumerate()
            .map(|(index, value)| {
                if index % 80_000 < 1_200 {
                    10.0 * value
                } else {
                    *value
                }
            })
            .collect::<Vec<_>>(),
        None,
    );
    check(
        "ignition",
        &with(60.0, &|t| {
            if (t * (31.0 + 9.0 * (0.3 * t).sin())).fract() < 0.004 {
                0.3
            } else {
                0.0
            }
        }),
        None,
    );
}

#[test]
fn the_noise_floor_is_kept_from_over_to_over() {
    let mut detector = SpeechDetector::new();
    assert_eq!(found(&mut detector, &noise(10.0, NOISE), 999), []);
    // A quiet answer that begins with the first sample.
    let mut answer = noise(8.0, NOISE);
    add(&mut answer, 0.0, &voice(3.0, 0.05));
    let stretches = found(&mut detector, &answer, 999);
    assert!(stretches[0].0 < 0.3, "{stretches:?}");
    // Times begin anew.
    assert_eq!(found(&mut detector, &noise(10.0, NOISE), 999), []);
}

#[test]
fn the_size_of_the_pieces_makes_no_difference() {
    let mut all = noise(12.0, NOISE);
    add(&mut all, 3.0, &voice(4.0, 0.1));
    let whole = found(&mut SpeechDetector::new(), &all, usize::MAX);
    assert!(!whole.is_empty());
    for piece in [1, 255, 256, 257, 16_000] {
        assert_eq!(
            found(&mut SpeechDetector::new(), &all, piece),
            whole,
            "{piece}"
        );
    }
}
