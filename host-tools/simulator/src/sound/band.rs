//! Interference on short wave: carriers, static crashes, ignition, the next channel.

use std::f32::consts::TAU;

use super::channel;
use super::units::{SCRIPT_SAMPLE_RATE, gain};
use crate::plan::DrivePlan;
use crate::random::SeededRandom;
use crate::scenario::{RadioPath, ShortWaveChannel};

/// A static crash dies away by this much a sample: 60 dB in half a second.
const CRASH_FALL: f32 = 0.999_14;

/// Everything beside noise and the stations of the drive, in units of the noise.
pub(crate) struct BandInterference {
    random: SeededRandom,
    /// Loudness of the crash that goes on now.
    crash: f32,
    /// Samples to the next spark.
    spark_in: f32,
    /// Speech of the next channel as it arrives, for every distance that occurs.
    neighbours: Vec<(f32, Vec<f32>)>,
}

impl BandInterference {
    pub(crate) fn new(plan: &DrivePlan) -> Self {
        let mut neighbours: Vec<(f32, Vec<f32>)> = Vec::new();
        for (_, path) in &plan.paths {
            let RadioPath::Hf(ShortWaveChannel {
                neighbour: Some((off_hz, _)),
                ..
            }) = path
            else {
                continue;
            };
            let known = neighbours.iter().any(|(known, _)| known == off_hz);
            if let Some(speech) = plan.neighbour.as_ref().filter(|_| !known) {
                neighbours.push((*off_hz, channel::mistuned(speech.samples(), *off_hz)));
            }
        }
        Self {
            random: SeededRandom::stream(plan.scenario.seed, "band events"),
            crash: 0.0,
            spark_in: 0.0,
            neighbours,
        }
    }

    /// What is to be added to white noise of power 1 before the filter.
    pub(crate) fn noise(&mut self, hf: &ShortWaveChannel) -> f32 {
        let mut sum = 0.0;
        let rate = f64::from(hf.crashes) / 60.0 / f64::from(SCRIPT_SAMPLE_RATE);
        if rate > 0.0 && self.random.between(0.0, 1.0) < rate {
            self.crash = gain(self.random.between(10.0, 24.0) as f32);
        }
        if self.crash > 0.05 {
            sum += self.crash * self.random.normal();
            self.crash *= CRASH_FALL;
        }
        if let Some((sparks_hz, peak_db)) = hf.ignition {
            self.spark_in -= 1.0;
            if self.spark_in <= 0.0 {
                // An engine never runs quite evenly.
                let period = SCRIPT_SAMPLE_RATE as f32 / sparks_hz.max(1.0);
                self.spark_in = period * self.random.between(0.9, 1.1) as f32;
                sum += gain(peak_db);
            }
        }
        sum
    }

    /// What is to be added after the filter, noise having power 1 there.
    pub(crate) fn signals(&self, hf: &ShortWaveChannel, now: u64) -> f32 {
        let mut sum = 0.0;
        if let Some((hz, db)) = hf.carrier {
            let turns = (f64::from(hz) * now as f64 / f64::from(SCRIPT_SAMPLE_RATE)).fract() as f32;
            sum += 2_f32.sqrt() * gain(db) * (TAU * turns).sin();
        }
        if let Some((off_hz, db)) = hf.neighbour {
            let found = self.neighbours.iter().find(|(known, _)| *known == off_hz);
            if let Some((_, clip)) = found.filter(|(_, clip)| !clip.is_empty()) {
                let at = (now % clip.len() as u64) as usize;
                sum += gain(db) * clip[at];
            }
        }
        sum
    }
}
