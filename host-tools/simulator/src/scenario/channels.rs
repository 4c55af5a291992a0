//! Dial settings and channels as they are met on the road.

use crate::random::SeededRandom;
use crate::scenario::episode::ScriptedDial;
use crate::scenario::radio_path::{MobileFmChannel, RadioPath, ShortWaveChannel};
use crate::scenario::wish::DriveDifficulty;

/// Parameters of ITU-R F.1487 for middle latitudes (from memory): delay between the
/// paths in seconds and Doppler spread in hertz, quiet, moderate and disturbed.
const MIDDLE_LATITUDES: [(f32, f32); 3] = [(0.0005, 0.1), (0.001, 0.5), (0.002, 1.0)];
/// The same for low latitudes (from memory).
const LOW_LATITUDES: [(f32, f32); 3] = [(0.0005, 0.5), (0.002, 1.5), (0.006, 10.0)];
/// The same for high latitudes (from memory).
const HIGH_LATITUDES: [(f32, f32); 3] = [(0.001, 0.5), (0.003, 10.0), (0.007, 30.0)];

/// How a drive on the road is: the worst state of the ionosphere, in steps from quiet, and how
/// often each kind of interference is met.
const ROAD: (f64, f64) = (2.2, 0.2);
/// Noise without a signal beside that under the strongest (an estimate).
const AGC_DB: f32 = 10.0;
/// The share of time in the fades of a moving car there, at most.
const ROAD_FADES: f64 = 0.08;

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
        DriveDifficulty::Road => ((9.0, 24.0), ROAD.0, ROAD.1),
        DriveDifficulty::Hard => ((2.0, 15.0), 3.0, 0.35),
    };
    let mut channel = ionosphere(random, &MIDDLE_LATITUDES, worst);
    disturb(random, trouble, &mut channel);
    channel.snr_db = draw(random, snr_db.0, snr_db.1);
    RadioPath::Hf(channel)
}

/// A short-wave channel as it is met on the road, of this signal-to-noise ratio in dB, in a
/// receiver whose gain is controlled.
pub fn written_short_wave(random: &mut SeededRandom, snr_db: f32) -> RadioPath {
    // Most stations that a car hears are not far from its own latitude.
    let latitudes = match random.between(0.0, 1.0) {
        drawn if drawn < 0.75 => &MIDDLE_LATITUDES,
        drawn if drawn < 0.92 => &LOW_LATITUDES,
        _ => &HIGH_LATITUDES,
    };
    let mut channel = ionosphere(random, latitudes, ROAD.0);
    disturb(random, ROAD.1, &mut channel);
    channel.snr_db = snr_db;
    channel.agc_db = AGC_DB;
    RadioPath::Hf(channel)
}

fn draw(random: &mut SeededRandom, low: f64, high: f64) -> f32 {
    random.between(low, high) as f32
}

/// Two paths whose state is drawn from 0 to `worst`, and nothing else on the band.
fn ionosphere(
    random: &mut SeededRandom,
    latitudes: &[(f32, f32); 3],
    worst: f64,
) -> ShortWaveChannel {
    let state = random.between(0.0, worst) as usize;
    let (delay_s, spread_hz) = latitudes[state.min(2)];
    ShortWaveChannel {
        snr_db: 0.0,
        delay_s,
        spread_hz,
        carrier: None,
        crashes: 0.0,
        ignition: None,
        neighbour: None,
        agc_db: 0.0,
    }
}

/// Adds each kind of interference with the probability `trouble`.
fn disturb(random: &mut SeededRandom, trouble: f64, channel: &mut ShortWaveChannel) {
    let met = |random: &mut SeededRandom| random.between(0.0, 1.0) < trouble;
    channel.carrier = met(random).then(|| (draw(random, 400.0, 2_500.0), draw(random, -8.0, 4.0)));
    channel.crashes = if met(random) {
        draw(random, 2.0, 20.0)
    } else {
        0.0
    };
    channel.ignition = met(random).then(|| (draw(random, 40.0, 120.0), draw(random, 8.0, 18.0)));
    channel.neighbour = met(random).then(|| {
        let away = draw(random, 1_100.0, 1_900.0);
        let side = if random.bits().is_multiple_of(2) {
            1.0
        } else {
            -1.0
        };
        (side * away, draw(random, -6.0, 6.0))
    });
}

/// A channel of frequency modulation, over a repeater or not.
pub(super) fn modulated(
    random: &mut SeededRandom,
    difficulty: DriveDifficulty,
    repeater: bool,
) -> RadioPath {
    let (snr_db, share) = match difficulty {
        DriveDifficulty::Easy => ((26.0, 40.0), 0.0),
        DriveDifficulty::Road => ((15.0, 34.0), ROAD_FADES),
        DriveDifficulty::Hard => ((8.0, 22.0), 0.2),
    };
    car(random, share, repeater, |random| {
        draw(random, snr_db.0, snr_db.1)
    })
}

/// A channel of frequency modulation as it is met on the road, of this signal-to-noise ratio
/// in dB, over a repeater or not.
pub fn written_modulated(random: &mut SeededRandom, snr_db: f32, repeater: bool) -> RadioPath {
    car(random, ROAD_FADES, repeater, |_| snr_db)
}

fn car(
    random: &mut SeededRandom,
    share: f64,
    repeater: bool,
    snr_db: impl FnOnce(&mut SeededRandom) -> f32,
) -> RadioPath {
    let fenced = !repeater && random.between(0.0, 1.0) < 0.6 && share > 0.0;
    let fades_hz = draw(random, 6.0, 18.0);
    let part = draw(random, 0.2 * share, share);
    RadioPath::Car(MobileFmChannel {
        snr_db: snr_db(random),
        squelch_tail_s: random.between(0.1, 0.35),
        repeater: repeater.then(|| {
            let beep_hz = draw(random, 700.0, 1_400.0);
            (beep_hz, random.between(0.8, 2.5))
        }),
        pickets: fenced.then_some((fades_hz, part)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn channels_for_written_conversations_are_of_every_latitude_and_as_strong_as_asked() {
        let mut random = SeededRandom::stream(1, "channels");
        let mut met = Vec::new();
        for _ in 0..2_000 {
            let RadioPath::Hf(hf) = written_short_wave(&mut random, 7.5) else {
                panic!("not on short wave");
            };
            assert_eq!((hf.snr_db, hf.agc_db), (7.5, 10.0));
            met.push((hf.delay_s, hf.spread_hz));
        }
        for known in [MIDDLE_LATITUDES, LOW_LATITUDES, HIGH_LATITUDES].concat() {
            let share = met.iter().filter(|&&met| met == known).count() as f64 / 2_000.0;
            assert!((0.002..0.4).contains(&share), "{known:?}: {share}");
        }
    }

    #[test]
    fn written_frequency_modulation_is_a_repeater_where_asked() {
        let mut random = SeededRandom::stream(1, "channels");
        let mut fenced = 0;
        for number in 0..200 {
            let RadioPath::Car(car) = written_modulated(&mut random, 19.0, number % 2 == 0) else {
                panic!("not frequency modulation");
            };
            assert_eq!(car.snr_db, 19.0);
            assert_eq!(car.repeater.is_some(), number % 2 == 0);
            fenced += u32::from(car.pickets.is_some());
        }
        assert!((40..80).contains(&fenced), "{fenced}");
    }
}
