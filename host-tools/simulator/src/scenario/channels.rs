//! Dial settings and channels as they are met on the road.

use crate::random::SeededRandom;
use crate::scenario::episode::ScriptedDial;
use crate::scenario::radio_path::{MobileFmChannel, RadioPath, ShortWaveChannel};
use crate::scenario::wish::DriveDifficulty;

/// Parameters of ITU-R F.1487 for middle latitudes (from memory): delay between the
/// paths in seconds and Doppler spread in hertz, quiet, moderate and disturbed.
const MIDDLE_LATITUDES: [(f32, f32); 3] = [(0.0005, 0.1), (0.001, 0.5), (0.002, 1.0)];

/// Voice segments as they are used: low and high end in kilohertz, mode.
const HF_BANDS: [(u64, u64, &str); 5] = [
    (14_195, 14_345, "USB"),
    (14_195, 14_345, "USB"),
    (7_155, 7_295, "LSB"),
    (18_125, 18_165, "USB"),
    (21_240, 21_440, "USB"),
];

const SIMPLEX_HZ: [u64; 3] = [146_520_000, 146_550_000, 446_000_000];
const REPEATER_HZ: [u64; 4] = [146_940_000, 147_120_000, 145_310_000, 449_225_000];

/// As many frequencies as are not used again at once.
const REMEMBERED: usize = 10;

/// A place on short wave away from those last `used`.
pub(super) fn short_wave(random: &mut SeededRandom, used: &mut Vec<u64>) -> ScriptedDial {
    loop {
        let (low, high, mode) = random.pick(&HF_BANDS).copied().unwrap_or(HF_BANDS[0]);
        let khz = low as f64 + random.between(0.0, (high - low) as f64);
        let hz = (khz * 2.0).round() as u64 * 500;
        if used.iter().all(|used| used.abs_diff(hz) > 4_000) {
            if used.len() == REMEMBERED {
                used.remove(0);
            }
            used.push(hz);
            return ScriptedDial {
                hz,
                mode: mode.to_owned(),
            };
        }
    }
}

/// A simplex channel.
pub(super) fn simplex(random: &mut SeededRandom) -> ScriptedDial {
    fm(random.pick(&SIMPLEX_HZ).copied().unwrap_or(SIMPLEX_HZ[0]))
}

/// The output of a repeater.
pub(super) fn repeater(random: &mut SeededRandom) -> ScriptedDial {
    fm(random.pick(&REPEATER_HZ).copied().unwrap_or(REPEATER_HZ[0]))
}

fn fm(hz: u64) -> ScriptedDial {
    ScriptedDial {
        hz,
        mode: "FM".to_owned(),
    }
}

/// A short-wave channel of this difficulty.
pub(super) fn fading(random: &mut SeededRandom, difficulty: DriveDifficulty) -> RadioPath {
    let (snr_db, worst, trouble) = match difficulty {
        DriveDifficulty::Easy => ((18.0, 30.0), 1.0, 0.05),
        DriveDifficulty::Road => ((9.0, 24.0), 2.2, 0.2),
        DriveDifficulty::Hard => ((2.0, 15.0), 3.0, 0.35),
    };
    let state = random.between(0.0, worst) as usize;
    let (delay_s, spread_hz) = MIDDLE_LATITUDES[state.min(2)];
    let draw = |random: &mut SeededRandom, low: f64, high: f64| random.between(low, high) as f32;
    let met = |random: &mut SeededRandom| random.between(0.0, 1.0) < trouble;
    let carrier = met(random).then(|| (draw(random, 400.0, 2_500.0), draw(random, -8.0, 4.0)));
    let crashes = if met(random) {
        draw(random, 2.0, 20.0)
    } else {
        0.0
    };
    let ignition = met(random).then(|| (draw(random, 40.0, 120.0), draw(random, 8.0, 18.0)));
    let neighbour = met(random).then(|| {
        let away = draw(random, 1_100.0, 1_900.0);
        let side = if random.bits().is_multiple_of(2) {
            1.0
        } else {
            -1.0
        };
        (side * away, draw(random, -6.0, 6.0))
    });
    RadioPath::Hf(ShortWaveChannel {
        snr_db: draw(random, snr_db.0, snr_db.1),
        delay_s,
        spread_hz,
        carrier,
        crashes,
        ignition,
        neighbour,
    })
}

/// A short-wave channel of this signal-to-noise ratio, otherwise as on the road.
pub(crate) fn short_wave_path(random: &mut SeededRandom, snr_db: f32) -> RadioPath {
    let mut path = fading(random, DriveDifficulty::Road);
    if let RadioPath::Hf(channel) = &mut path {
        channel.snr_db = snr_db;
    }
    path
}

/// A channel of frequency modulation of this signal-to-noise ratio, otherwise as on the road.
pub(crate) fn modulated_path(random: &mut SeededRandom, snr_db: f32, repeater: bool) -> RadioPath {
    let mut path = modulated(random, DriveDifficulty::Road, repeater);
    if let RadioPath::Car(channel) = &mut path {
        channel.snr_db = snr_db;
    }
    path
}

/// A channel of frequency modulation, over a repeater or not.
pub(super) fn modulated(
    random: &mut SeededRandom,
    difficulty: DriveDifficulty,
    repeater: bool,
) -> RadioPath {
    let (snr_db, share) = match difficulty {
        DriveDifficulty::Easy => ((26.0, 40.0), 0.0),
        DriveDifficulty::Road => ((15.0, 34.0), 0.08),
        DriveDifficulty::Hard => ((8.0, 22.0), 0.2),
    };
    let fenced = !repeater && random.between(0.0, 1.0) < 0.6 && share > 0.0;
    let fades_hz = random.between(6.0, 18.0) as f32;
    let part = random.between(0.2 * share, share) as f32;
    RadioPath::Car(MobileFmChannel {
        snr_db: random.between(snr_db.0, snr_db.1) as f32,
        squelch_tail_s: random.between(0.1, 0.35),
        repeater: repeater.then(|| {
            let beep_hz = random.between(700.0, 1_400.0) as f32;
            (beep_hz, random.between(0.8, 2.5))
        }),
        pickets: fenced.then_some((fades_hz, part)),
    })
}
