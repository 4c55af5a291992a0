//! Mixes the two channels of a drive, a block at a time.

use std::f32::consts::TAU;

use jumpseat_core::journal::AudioDirection;

use super::band::BandInterference;
use super::channel::{self, WattersonChannel};
use super::filter::FirFilter;
use super::units::{SCRIPT_SAMPLE_RATE, amplitude, gain, sample_at};
use crate::plan::{DrivePlan, PlannedOver};
use crate::random::SeededRandom;
use crate::scenario::{MobileFmChannel, RadioPath, SoundLevels, ToneMarker};
use crate::synthesis::active_level;

/// The pass band of the voice channel in hertz (common practice for sideband).
const BAND_HZ: (f32, f32) = (300.0, 2_700.0);

/// The share of white noise's power that lies in the band.
const BAND_SHARE: f32 = (BAND_HZ.1 - BAND_HZ.0) / (SCRIPT_SAMPLE_RATE as f32 / 2.0);

/// Makes the sound of a plan: receive audio left, transmit audio right.
pub struct DriveMixer<'a> {
    plan: &'a DrivePlan,
    sound: SoundLevels,
    now: u64,
    end: u64,
    /// Which over of the plan is heard next or now.
    over: usize,
    /// Which way the band sounds now.
    path: usize,
    /// The other station's voice after the channel, ready to add.
    heard: Option<ArrivingOver>,
    /// End of the last carrier.
    carrier_end: u64,
    others: BandInterference,
    band: FirFilter,
    band_noise: SeededRandom,
    floor_noise: SeededRandom,
    road_noise: SeededRandom,
    /// Two low-pass stages of the rumble.
    rumble: [f32; 2],
    /// Rates and phases of the slow fading.
    fading: [(f32, f32); 2],
}

/// An over of another station as it arrives.
struct ArrivingOver {
    /// Index into the plan's overs.
    over: usize,
    /// The voice, active level 1 without fading.
    voice: Vec<f32>,
    /// How much of the carrier is left from its start on; empty where all is.
    left: Vec<f32>,
}

impl<'a> DriveMixer<'a> {
    /// At the start of the drive.
    pub fn new(plan: &'a DrivePlan) -> Self {
        let seed = plan.scenario.seed;
        let mut fading = SeededRandom::stream(seed, "fading");
        Self {
            plan,
            sound: plan.scenario.sound,
            now: 0,
            end: sample_at(plan.length_s),
            over: 0,
            path: 0,
            heard: None,
            carrier_end: 0,
            others: BandInterference::new(plan),
            band: FirFilter::band(BAND_HZ.0, BAND_HZ.1),
            band_noise: SeededRandom::stream(seed, "band"),
            floor_noise: SeededRandom::stream(seed, "floor"),
            road_noise: SeededRandom::stream(seed, "road"),
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
        let until = (self.now + u64::from(SCRIPT_SAMPLE_RATE)).min(self.end);
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

    fn receive(&mut self, now: u64, live: Option<&PlannedOver>, path: Option<RadioPath>) -> f32 {
        // The noise runs on while it is not heard, as it does on the air.
        let extra = match path {
            Some(RadioPath::Hf(hf)) => self.others.noise(&hf),
            _ => 0.0,
        };
        let white = self.band_noise.normal() / BAND_SHARE.sqrt() + extra;
        let noise = self.band.next(white);
        if let Some(tone) = self.marker(now) {
            return tone;
        }
        if live.is_some_and(|over| over.direction == AudioDirection::Tx) {
            // A repeater's carrier stands after the operator's own overs, too.
            let repeater = matches!(
                path,
                Some(RadioPath::Car(MobileFmChannel {
                    repeater: Some(_),
                    ..
                }))
            );
            self.carrier_end = if repeater { now + 1 } else { 0 };
            return 0.0;
        }
        match path {
            None => 0.0,
            Some(RadioPath::Ssb { snr_db, fading_db }) => {
                let level = amplitude(self.sound.band_noise_dbfs);
                let voice = self.voice(now, live) * level * gain(snr_db);
                voice * gain(self.fade(now, fading_db)) + noise * level
            }
            Some(RadioPath::Fm {
                snr_db,
                squelch_tail_s,
            }) => self.modulated(now, live, noise, snr_db, squelch_tail_s),
            Some(RadioPath::Hf(hf)) => {
                let level = amplitude(self.sound.band_noise_dbfs);
                let voice = self.voice(now, live) * gain(hf.snr_db);
                (voice + noise + self.others.signals(&hf, now)) * level
            }
            Some(RadioPath::Car(car)) => self.car(now, live, noise, &car),
        }
    }

    /// Frequency modulation: silence until a carrier stands.
    fn modulated(
        &mut self,
        now: u64,
        live: Option<&PlannedOver>,
        noise: f32,
        snr_db: f32,
        squelch_tail_s: f64,
    ) -> f32 {
        let level = amplitude(self.sound.speech_dbfs);
        if live.is_some() {
            self.carrier_end = now + 1;
            let hiss = noise * level * gain(-snr_db);
            return self.voice(now, live) * level + hiss;
        }
        let tail = self.carrier_end > 0 && now < self.carrier_end + sample_at(squelch_tail_s);
        if tail { noise * level } else { 0.0 }
    }

    /// The same from a moving car, and over a repeater.
    fn car(
        &mut self,
        now: u64,
        live: Option<&PlannedOver>,
        noise: f32,
        car: &MobileFmChannel,
    ) -> f32 {
        /// From the end of an over to the courtesy beep, and its length, in seconds.
        const BEEP_S: (f64, f64) = (0.25, 0.12);
        let level = amplitude(self.sound.speech_dbfs);
        let Some((beep_hz, hang_s)) = car.repeater else {
            let left = self.left(now, live);
            let sound = self.modulated(now, live, noise, car.snr_db, car.squelch_tail_s);
            return left * sound + (1.0 - left) * noise * level * 0.7;
        };
        let hiss = noise * level * gain(-car.snr_db);
        if live.is_some() {
            self.carrier_end = now + 1;
            return self.voice(now, live) * level + hiss;
        }
        if self.carrier_end == 0 {
            return 0.0;
        }
        let since = (now - self.carrier_end.min(now)) as f64 / f64::from(SCRIPT_SAMPLE_RATE);
        if (BEEP_S.0..BEEP_S.0 + BEEP_S.1).contains(&since) {
            let turns = (f64::from(beep_hz) * since).fract() as f32;
            return hiss + 0.4 * level * (TAU * turns).sin();
        }
        match since {
            _ if since < hang_s => hiss,
            _ if since < hang_s + car.squelch_tail_s => noise * level,
            _ => 0.0,
        }
    }

    /// How much of the carrier is left now, 0 to 1.
    fn left(&mut self, now: u64, live: Option<&PlannedOver>) -> f32 {
        let Some(over) = live else { return 1.0 };
        self.hear(over);
        let since = now - sample_at(over.span.from_s).min(now);
        let left = self.heard.as_ref().and_then(|heard| {
            let index = usize::try_from(since).ok()?;
            heard.left.get(index).copied()
        });
        left.unwrap_or(1.0)
    }

    /// The other station's voice in the band, active level 1.
    fn voice(&mut self, now: u64, live: Option<&PlannedOver>) -> f32 {
        let Some(over) = live else { return 0.0 };
        self.hear(over);
        let clip = self.heard.as_ref().map(|heard| heard.voice.as_slice());
        sample_of(clip.unwrap_or_default(), over, now)
    }

    /// Sends the over through its channel, once.
    fn hear(&mut self, over: &PlannedOver) {
        if self
            .heard
            .as_ref()
            .is_some_and(|heard| heard.over == self.over)
        {
            return;
        }
        let mut voice = FirFilter::band(BAND_HZ.0, BAND_HZ.1).clip(over.voice.samples());
        let level = active_level(&voice).max(f32::MIN_POSITIVE);
        voice.iter_mut().for_each(|sample| *sample /= level);
        let mut left = Vec::new();
        let first = sample_at(over.span.from_s);
        let speaking = over.speaking(self.plan);
        let (level_db, off_hz) = speaking.map_or((0.0, 0.0), |who| (who.level_db, who.off_hz));
        // A station keeps its channel for the whole episode.
        let name = speaking.map_or_else(String::new, |who| who.voice.to_string());
        let name = format!("channel {} {name}", over.episode);
        let mut random = SeededRandom::stream(self.plan.scenario.seed, &name);
        match over.path(self.plan) {
            Some(RadioPath::Hf(hf)) => {
                let channel = WattersonChannel::new(&mut random, hf.delay_s, hf.spread_hz, off_hz);
                voice = channel.clip(&voice, first);
                voice
                    .iter_mut()
                    .for_each(|sample| *sample *= gain(level_db));
            }
            Some(RadioPath::Car(MobileFmChannel {
                pickets: Some((fades_hz, share)),
                ..
            })) => {
                let count = (sample_at(over.span.to_s) - first) as usize;
                left = channel::pickets(&mut random, fades_hz, share, first, count);
            }
            _ => {}
        }
        self.heard = Some(ArrivingOver {
            over: self.over,
            voice,
            left,
        });
    }

    fn transmit(&mut self, now: u64, live: Option<&PlannedOver>) -> f32 {
        let road = self.road();
        match live {
            Some(over) if over.direction == AudioDirection::Tx => {
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
        let seconds = (now as f64 / f64::from(SCRIPT_SAMPLE_RATE)) as f32;
        let swing: f32 = self
            .fading
            .iter()
            .map(|(hz, phase)| (TAU * (hz * seconds + phase)).sin())
            .sum();
        depth_db / 2.0 * swing / 2.0
    }

    fn marker(&self, now: u64) -> Option<f32> {
        let ToneMarker {
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
        let turns = (hz * since as f64 / f64::from(SCRIPT_SAMPLE_RATE)).fract() as f32;
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
