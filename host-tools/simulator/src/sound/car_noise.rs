//! Noises in the car, as the operator's microphone hears them.

use std::f32::consts::TAU;

use super::filter::FirFilter;
use super::units::{SCRIPT_SAMPLE_RATE, gain};
use crate::random::SeededRandom;
use crate::scenario::CarNoise;

/// Fan noise under speech, in dB.
const FAN_DB: f32 = -24.0;
/// A rub of the wiper under speech, in dB.
const WIPER_DB: f32 = -22.0;
/// Wind under speech, gusts and lulls together, in dB.
const WIND_DB: f32 = -16.0;
/// The top of an indicator's click, in dB beside the level of speech.
const CLICK_DB: f32 = -8.0;

/// From one rub of the wiper to the next, and its length, in seconds.
const WIPER_S: (f64, f64) = (1.2, 0.3);
/// From one click of the indicator to the next, and its length, in seconds.
const CLICK_S: (f64, f64) = (1.0 / 1.5, 0.02);
/// Where a click rings, in hertz.
const CLICK_HZ: f64 = 1_900.0;
/// Wind has nothing beyond, in hertz.
const WIND_HZ: f32 = 600.0;

/// Makes the noises; all that is random comes from a stream of its own.
pub(super) struct CarNoises {
    random: SeededRandom,
    fan: PinkNoise,
    rub: FirFilter,
    /// Two low-pass stages.
    wind: [f32; 2],
    /// How strong the wind is, where it goes, and samples until it goes elsewhere.
    gust: f32,
    gust_to: f32,
    gust_for: u32,
}

impl CarNoises {
    pub(super) fn new(seed: u64) -> Self {
        Self {
            random: SeededRandom::stream(seed, "car noises"),
            fan: PinkNoise::default(),
            rub: FirFilter::band(400.0, 1_600.0),
            wind: [0.0; 2],
            gust: 0.5,
            gust_to: 0.5,
            gust_for: 0,
        }
    }

    /// The next sample of a noise that has gone on for `since_s`; speech has level 1.
    pub(super) fn next(&mut self, noise: CarNoise, since_s: f64) -> f32 {
        match noise {
            CarNoise::Wiper => {
                // The power that the band from 400 to 1,600 Hz leaves of white noise.
                const LEFT: f32 = 2.0 * 1_200.0 / SCRIPT_SAMPLE_RATE as f32;
                let rub = self.rub.next(self.random.normal()) / LEFT.sqrt();
                swell(since_s % WIPER_S.0, WIPER_S.1) * rub * gain(WIPER_DB)
            }
            CarNoise::Wind => self.wind() * gain(WIND_DB),
            CarNoise::Fan => self.fan.next(self.random.normal()) * gain(FAN_DB),
            CarNoise::Indicator => {
                let at_s = since_s % CLICK_S.0;
                if at_s >= CLICK_S.1 {
                    return 0.0;
                }
                let turns = (CLICK_HZ * at_s).fract() as f32;
                // It has died away by 40 dB at its end.
                let left = (-4.6 * at_s / CLICK_S.1).exp() as f32;
                gain(CLICK_DB) * left * (TAU * turns).sin()
            }
        }
    }

    /// Power 1 over long times: noise whose strength wanders between a lull and a gust.
    fn wind(&mut self) -> f32 {
        /// Where strength wanders, and the mean of its square over an even draw.
        const STRENGTH: (f64, f64) = (0.2, 1.8);
        const MEAN_SQUARE: f32 = 1.21;
        let share = 1.0 - (-TAU * WIND_HZ / SCRIPT_SAMPLE_RATE as f32).exp();
        if self.gust_for == 0 {
            let rate = f64::from(SCRIPT_SAMPLE_RATE);
            self.gust_for = (rate * self.random.between(0.3, 1.5)) as u32;
            self.gust_to = self.random.between(STRENGTH.0, STRENGTH.1) as f32;
        }
        self.gust_for -= 1;
        // It takes a fifth of a second to freshen.
        self.gust += (self.gust_to - self.gust) * 5.0 / SCRIPT_SAMPLE_RATE as f32;
        let mut sample = self.random.normal();
        for stage in &mut self.wind {
            *stage += share * (sample - *stage);
            sample = *stage;
        }
        // The power that two such stages leave of white noise.
        let pole = 1.0 - share;
        let left = share.powi(4) * (1.0 + pole * pole) / (1.0 - pole * pole).powi(3);
        sample / (left * MEAN_SQUARE).sqrt() * self.gust
    }
}

/// Rises and falls as half a sine within `length_s`, and is 0 after; its mean power there is 1.
fn swell(at_s: f64, length_s: f64) -> f32 {
    if at_s < length_s {
        2_f32.sqrt() * (TAU / 2.0 * (at_s / length_s) as f32).sin()
    } else {
        0.0
    }
}

/// Pink noise from white, by Paul Kellet's sum of three poles (from memory; at this sample rate
/// worked out to lie within 1 dB of 3 dB an octave from 50 Hz to 7 kHz).
#[derive(Default)]
struct PinkNoise([f32; 3]);

impl PinkNoise {
    /// The next sample, of power 1 in 300 to 2,700 Hz.
    fn next(&mut self, white: f32) -> f32 {
        const POLES: [(f32, f32); 3] = [
            (0.997_65, 0.099_046),
            (0.963, 0.296_516_4),
            (0.57, 1.052_691_3),
        ];
        /// Measured: the level that is left in the voice band.
        const LEFT: f32 = 1.44;
        let mut sum = 0.184_8 * white;
        for (state, (pole, share)) in self.0.iter_mut().zip(POLES) {
            *state = pole * *state + share * white;
            sum += *state;
        }
        sum / LEFT
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Level in the voice band over 30 s, and the share of the time in which there is something.
    fn measured(noise: CarNoise) -> (f32, f32) {
        let mut noises = CarNoises::new(7);
        let clip: Vec<f32> = (0..480_000)
            .map(|n| noises.next(noise, f64::from(n) / f64::from(SCRIPT_SAMPLE_RATE)))
            .collect();
        let sounding = clip.iter().filter(|sample| **sample != 0.0).count();
        let share = sounding as f32 / clip.len() as f32;
        let heard = FirFilter::band(300.0, 2_700.0).clip(&clip);
        let power = heard.iter().map(|x| x * x).sum::<f32>() / heard.len() as f32;
        (10.0 * power.log10(), share)
    }

    #[track_caller]
    fn check(noise: CarNoise, level_db: std::ops::Range<f32>, share: std::ops::Range<f32>) {
        let (level, sounding) = measured(noise);
        assert!(level_db.contains(&level), "{noise:?}: {level} dB");
        assert!(share.contains(&sounding), "{noise:?}: {sounding}");
    }

    #[test]
    fn noises_lie_under_speech_and_come_as_often_as_they_should() {
        check(CarNoise::Fan, -24.7..-23.3, 0.99..1.01);
        // A quarter of the time is 6 dB.
        check(CarNoise::Wiper, -29.0..-27.0, 0.24..0.26);
        // Most of wind lies below the voice band.
        check(CarNoise::Wind, -24.0..-18.0, 0.99..1.01);
        check(CarNoise::Indicator, -40.0..-28.0, 0.025..0.035);
    }
}
