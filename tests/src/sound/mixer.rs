//! Mixes the two channels of a drive, a block at a time.

use std::f32::consts::TAU;

use jumpseat_core::journal::Direction;

use super::filter::Fir;
use super::speech::active_level;
use super::{RATE, amplitude, gain, sample_at};
use crate::plan::{Plan, PlannedOver};
use crate::random::Random;
use crate::scenario::{Marker, Path, Sound};

/// The pass band of the voice channel in hertz (common practice for sideband).
const BAND_HZ: (f32, f32) = (300.0, 2_700.0);

/// The share of white noise's power that lies in the band.
const BAND_SHARE: f32 = (BAND_HZ.1 - BAND_HZ.0) / (RATE as f32 / 2.0);

/// Makes the sound of a plan: receive audio left, transmit audio right.
pub struct Mixer<'a> {
    plan: &'a Plan,
    sound: Sound,
    now: u64,
    end: u64,
    /// Which over of the plan is heard next or now.
    over: usize,
    /// Which way the band sounds now.
    path: usize,
    /// The other station's voice after the channel, ready to add.
    heard: Option<(usize, Vec<f32>)>,
    /// End of the last carrier.
    carrier_end: u64,
    band: Fir,
    band_noise: Random,
    floor_noise: Random,
    road_noise: Random,
    /// Two low-pass stages of the rumble.
    rumble: [f32; 2],
    /// Rates and phases of the slow fading.
    fading: [(f32, f32); 2],
}

impl<'a> Mixer<'a> {
    /// At the start of the drive.
    pub fn new(plan: &'a Plan) -> Self {
        let seed = plan.scenario.seed;
        let mut fading = Random::stream(seed, "fading");
        Self {
            plan,
            sound: plan.scenario.sound,
            now: 0,
            end: sample_at(plan.length_s),
            over: 0,
            path: 0,
            heard: None,
            carrier_end: 0,
            band: Fir::band(BAND_HZ.0, BAND_HZ.1),
            band_noise: Random::stream(seed, "band"),
            floor_noise: Random::stream(seed, "floor"),
            road_noise: Random::stream(seed, "road"),
            rumble: [0.0; 2],
            // Periods of 4 to 20 s, which is usual on a quiet short-wave band.
            fading: [(0.11, 0.25), (0.05, 0.11)].map(|(low, high)| {
                let rate = fading.between(low, high) as f32;
                (rate, fading.between(0.0, 1.0) as f32)
            }),
        }
    }

    /// The next second or less: pairs of receive and transmit; empty at the end.
    pub fn block(&mut self) -> Vec<[i16; 2]> {
        let until = (self.now + u64::from(RATE)).min(self.end);
        (self.now..until).map(|_| self.pair()).collect()
    }

    fn pair(&mut self) -> [i16; 2] {
        let now = self.now;
        self.now += 1;
        let plan = self.plan;
        while plan
            .overs
            .get(self.over)
            .is_some_and(|over| sample_at(over.span.to_s) <= now)
        {
            self.over += 1;
        }
        let over = plan.overs.get(self.over);
        let live = over.filter(|over| sample_at(over.span.from_s) <= now);
        while plan
            .paths
            .get(self.path + 1)
            .is_some_and(|(at_s, _)| sample_at(*at_s) <= now)
        {
            self.path += 1;
        }
        let path = plan.paths.get(self.path).map(|(_, path)| *path);
        let floor = amplitude(self.sound.floor_dbfs);
        let rx = self.receive(now, live, path) + floor * self.floor_noise.normal();
        let tx = self.transmit(now, live) + floor * self.floor_noise.normal();
        [rx, tx].map(|sample| sample.round().clamp(-32_768.0, 32_767.0) as i16)
    }

    fn receive(&mut self, now: u64, live: Option<&PlannedOver>, path: Option<Path>) -> f32 {
        // The noise runs on while it is not heard, as it does on the air.
        let white = self.band_noise.normal() / BAND_SHARE.sqrt();
        let noise = self.band.next(white);
        if let Some(tone) = self.marker(now) {
            return tone;
        }
        if live.is_some_and(|over| over.direction == Direction::Tx) {
            return 0.0;
        }
        match path {
            None => 0.0,
            Some(Path::Ssb { snr_db, fading_db }) => {
                let level = amplitude(self.sound.band_noise_dbfs);
                let voice = self.voice(now, live) * level * gain(snr_db);
                voice * gain(self.fade(now, fading_db)) + noise * level
            }
            Some(Path::Fm {
                snr_db,
                squelch_tail_s,
            }) => {
                let level = amplitude(self.sound.speech_dbfs);
                if live.is_some() {
                    self.carrier_end = now + 1;
                    let hiss = noise * level * gain(-snr_db);
                    return self.voice(now, live) * level + hiss;
                }
                let tail =
                    self.carrier_end > 0 && now < self.carrier_end + sample_at(squelch_tail_s);
                if tail { noise * level } else { 0.0 }
            }
        }
    }

    /// The other station's voice in the band, active level 1.
    fn voice(&mut self, now: u64, live: Option<&PlannedOver>) -> f32 {
        let Some(over) = live else { return 0.0 };
        if self
            .heard
            .as_ref()
            .is_none_or(|(index, _)| *index != self.over)
        {
            let mut clip = Fir::band(BAND_HZ.0, BAND_HZ.1).clip(over.voice.samples());
            let level = active_level(&clip).max(f32::MIN_POSITIVE);
            clip.iter_mut().for_each(|sample| *sample /= level);
            self.heard = Some((self.over, clip));
        }
        let clip = self.heard.as_ref().map(|(_, clip)| clip.as_slice());
        sample_of(clip.unwrap_or_default(), over, now)
    }

    fn transmit(&mut self, now: u64, live: Option<&PlannedOver>) -> f32 {
        let road = self.road();
        match live {
            Some(over) if over.direction == Direction::Tx => {
                let level = amplitude(self.sound.speech_dbfs);
                sample_of(over.voice.samples(), over, now) * level + road
            }
            _ => road,
        }
    }

    /// Rumble below about 150 Hz, as tyres and engine make it.
    fn road(&mut self) -> f32 {
        const POLE: f32 = 0.94;
        // The power that two such stages leave of white noise.
        const LEFT: f32 =
            (1.0 - POLE) * (1.0 - POLE) * (1.0 - POLE) * (1.0 - POLE) * (1.0 + POLE * POLE)
                / ((1.0 - POLE * POLE) * (1.0 - POLE * POLE) * (1.0 - POLE * POLE));
        let mut sample = self.road_noise.normal();
        for stage in &mut self.rumble {
            *stage += (1.0 - POLE) * (sample - *stage);
            sample = *stage;
        }
        sample / LEFT.sqrt() * amplitude(self.sound.road_noise_dbfs)
    }

    /// Slow fading around 0 dB: never deeper or higher than half the depth.
    fn fade(&self, now: u64, depth_db: f32) -> f32 {
        let seconds = (now as f64 / f64::from(RATE)) as f32;
        let swing: f32 = self
            .fading
            .iter()
            .map(|(hz, phase)| (TAU * (hz * seconds + phase)).sin())
            .sum();
        depth_db / 2.0 * swing / 2.0
    }

    fn marker(&self, now: u64) -> Option<f32> {
        let Marker {
            hz,
            length_s,
            margin_s,
            dbfs,
        } = self.plan.scenario.marker?;
        let length = sample_at(length_s);
        let margin = sample_at(margin_s);
        let starts = [margin, self.end.saturating_sub(margin + length)];
        let since = starts
            .iter()
            .find_map(|&start| now.checked_sub(start).filter(|&since| since < length))?;
        let turns = (hz * since as f64 / f64::from(RATE)).fract() as f32;
        // A full-scale sine lies 3 dB below a full-scale square wave.
        Some(amplitude(dbfs + 3.01) * (TAU * turns).sin())
    }
}

fn sample_of(clip: &[f32], over: &PlannedOver, now: u64) -> f32 {
    now.checked_sub(sample_at(over.voice_from_s))
        .and_then(|index| clip.get(usize::try_from(index).ok()?))
        .copied()
        .unwrap_or(0.0)
}
