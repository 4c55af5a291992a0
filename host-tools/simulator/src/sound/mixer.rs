//! Mixes the two channels of a drive, a block at a time.

use std::f32::consts::TAU;

use jumpseat_core::journal::AudioDirection;

use super::arriving::{ArrivingOver, sample_of};
use super::band::BandInterference;
use super::effects::{AfterCarrier, ChannelEvent, LiveEffects};
use super::filter::{FirFilter, VOICE_BAND_HZ};
use super::gain_control::GainControl;
use super::leak::{LEAK_DB, thump};
use super::units::{SCRIPT_SAMPLE_RATE, amplitude, gain, sample_at};
use crate::plan::{DrivePlan, PlannedOver};
use crate::random::SeededRandom;
use crate::scenario::{MobileFmChannel, RadioPath, SoundLevels, ToneMarker};

/// The share of white noise's power that lies in the band.
const BAND_SHARE: f32 = (VOICE_BAND_HZ.1 - VOICE_BAND_HZ.0) / (SCRIPT_SAMPLE_RATE as f32 / 2.0);

/// Somebody in the car sits further from the microphone than the operator, in dB.
const IN_CAR_DB: f32 = -6.0;

/// From the end of an over to a repeater's courtesy beep, and its length, in seconds.
const BEEP_S: (f64, f64) = (0.25, 0.12);

/// The courtesy beep where the channel has none of its own, in hertz.
const BEEP_HZ: f32 = 1_000.0;

/// Makes the sound of a plan: receive audio left, transmit audio right.
pub struct DriveMixer<'a> {
    plan: &'a DrivePlan,
    sound: SoundLevels,
    now: u64,
    end: u64,
    /// Which over of the plan begins next.
    next: usize,
    /// What is said now at the operator's microphone.
    spoken: Vec<&'a PlannedOver>,
    /// What other stations say now.
    heard: Vec<ArrivingOver>,
    effects: LiveEffects<'a>,
    /// Whether the key is down, and when it last went down or up.
    keyed: (bool, Option<u64>),
    /// Which way the band sounds now.
    path: usize,
    /// End of the last carrier.
    carrier_end: u64,
    others: BandInterference,
    gain_control: GainControl,
    band: FirFilter,
    band_noise: SeededRandom,
    floor_noise: SeededRandom,
    road_noise: SeededRandom,
    /// Two low-pass stages of the rumble.
    rumble: [f32; 2],
    /// Rates and phases of the slow fading.
    fading: [(f32, f32); 2],
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
            next: 0,
            spoken: Vec::new(),
            heard: Vec::new(),
            effects: LiveEffects::new(plan),
            keyed: (false, None),
            path: 0,
            carrier_end: 0,
            others: BandInterference::new(plan),
            gain_control: GainControl::new(),
            band: FirFilter::band(VOICE_BAND_HZ.0, VOICE_BAND_HZ.1),
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
        self.turn(now);
        while plan
            .paths
            .get(self.path + 1)
            .is_some_and(|(at_s, _)| sample_at(*at_s) <= now)
        {
            self.path += 1;
        }
        let path = plan.paths.get(self.path).map(|(_, path)| *path);
        let floor = amplitude(self.sound.floor_dbfs);
        let rx = self.receive(now, path) + floor * self.floor_noise.normal();
        let tx = self.transmit(now) + floor * self.floor_noise.normal();
        [rx, tx].map(|sample| sample.round().clamp(-32_768.0, 32_767.0) as i16)
    }

    /// Takes up the overs that begin now, and leaves those that have ended.
    fn turn(&mut self, now: u64) {
        let plan = self.plan;
        self.spoken.retain(|over| sample_at(over.span.to_s) > now);
        self.heard.retain(|over| !over.is_over(now));
        while let Some(over) = plan.overs.get(self.next) {
            if sample_at(over.span.from_s) > now {
                break;
            }
            match over.direction {
                AudioDirection::Tx => self.spoken.push(over),
                AudioDirection::Rx => self.heard.push(ArrivingOver::new(plan, over)),
            }
            self.next += 1;
        }
        self.effects.turn(now);
        let keyed = self.spoken.iter().any(|over| over.keys()) || self.effects.keyed();
        if keyed != self.keyed.0 {
            self.keyed = (keyed, Some(now));
        }
    }

    fn receive(&mut self, now: u64, path: Option<RadioPath>) -> f32 {
        // The noise runs on while it is not heard, as it does on the air.
        let mut white = self.band_noise.normal() / BAND_SHARE.sqrt();
        match path {
            Some(RadioPath::Hf(hf)) => {
                white += self.others.noise(&hf) + self.effects.splatter() / BAND_SHARE.sqrt();
            }
            Some(RadioPath::Ssb { .. }) => white += self.effects.splatter() / BAND_SHARE.sqrt(),
            None | Some(RadioPath::Fm { .. } | RadioPath::Car(_)) => {}
        }
        let noise = self.band.next(white);
        if let Some(tone) = self.marker(now) {
            return tone;
        }
        let leak = self.leak(now);
        if self.keyed.0 {
            // A repeater's carrier stands after the operator's own overs, too.
            let repeater = matches!(
                path,
                Some(RadioPath::Car(MobileFmChannel {
                    repeater: Some(_),
                    ..
                }))
            );
            self.carrier_end = if repeater { now + 1 } else { 0 };
            return leak;
        }
        leak + match path {
            None => 0.0,
            Some(RadioPath::Ssb { snr_db, fading_db }) => {
                let level = amplitude(self.sound.band_noise_dbfs);
                let voice = (self.voice(now) + self.tone(now)) * level * gain(snr_db);
                voice * gain(self.fade(now, fading_db)) + noise * level
            }
            Some(RadioPath::Fm {
                snr_db,
                squelch_tail_s,
            }) => match self.effects.channel(now, BEEP_HZ) {
                Some(event) => self.event(now, noise, event, snr_db, None),
                None => self.modulated(now, noise, snr_db, squelch_tail_s),
            },
            Some(RadioPath::Hf(hf)) => {
                let level = amplitude(self.sound.band_noise_dbfs);
                let voice = (self.voice(now) + self.tone(now)) * gain(hf.snr_db);
                let sound = voice + noise + self.others.signals(&hf, now);
                self.gain_control.next(sound, hf.agc_db) * level
            }
            Some(RadioPath::Car(car)) => {
                let (beep_hz, hang_s) = car.repeater.unzip();
                match self.effects.channel(now, beep_hz.unwrap_or(BEEP_HZ)) {
                    Some(event) => self.event(now, noise, event, car.snr_db, hang_s),
                    None => self.car(now, noise, &car),
                }
            }
        }
    }

    /// The tone of an effect on sideband, where there is no carrier; a voice has level 1.
    fn tone(&self, now: u64) -> f32 {
        match self.effects.channel(now, BEEP_HZ) {
            Some(ChannelEvent::Carrier { tone, .. }) => tone,
            _ => 0.0,
        }
    }

    /// What the operator hears of the own transmission.
    fn leak(&self, now: u64) -> f32 {
        if !self.effects.leaks() {
            return 0.0;
        }
        let level = amplitude(self.sound.speech_dbfs);
        let edge = self.keyed.1.map_or(0.0, |edge| thump(now - edge));
        level * edge + gain(LEAK_DB) * self.spoken(now)
    }

    /// An effect on a channel of frequency modulation; `hang_s` is how long a repeater's carrier
    /// stands after an over.
    fn event(
        &mut self,
        now: u64,
        noise: f32,
        event: ChannelEvent,
        snr_db: f32,
        hang_s: Option<f64>,
    ) -> f32 {
        let level = amplitude(self.sound.speech_dbfs);
        let ChannelEvent::Carrier { tone, after } = event else {
            self.carrier_end = 0;
            return noise * level;
        };
        // The end of the over that would be followed now by what follows the effect.
        let ended = |since_s: f64| (now + 1).saturating_sub(sample_at(since_s)).max(1);
        self.carrier_end = match (after, hang_s) {
            (AfterCarrier::Nothing, _) => 0,
            (AfterCarrier::Courtesy, Some(_)) => ended(BEEP_S.0 + BEEP_S.1),
            (AfterCarrier::Tail, Some(hang_s)) => ended(hang_s),
            _ => now + 1,
        };
        (noise * gain(-snr_db) + tone) * level
    }

    /// Frequency modulation: silence until a carrier stands.
    fn modulated(&mut self, now: u64, noise: f32, snr_db: f32, squelch_tail_s: f64) -> f32 {
        let level = amplitude(self.sound.speech_dbfs);
        if !self.heard.is_empty() {
            self.carrier_end = now + 1;
            let hiss = noise * level * gain(-(snr_db + self.stronger_db()));
            return self.voice(now) * level + hiss;
        }
        let tail = self.carrier_end > 0 && now < self.carrier_end + sample_at(squelch_tail_s);
        if tail { noise * level } else { 0.0 }
    }

    /// The same from a moving car, and over a repeater.
    fn car(&mut self, now: u64, noise: f32, car: &MobileFmChannel) -> f32 {
        let level = amplitude(self.sound.speech_dbfs);
        let Some((beep_hz, hang_s)) = car.repeater else {
            let left = self.left(now);
            let sound = self.modulated(now, noise, car.snr_db, car.squelch_tail_s);
            return left * sound + (1.0 - left) * noise * level * 0.7;
        };
        let hiss = noise * level * gain(-(car.snr_db + self.stronger_db()));
        if !self.heard.is_empty() {
            self.carrier_end = now + 1;
            return self.voice(now) * level + hiss;
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

    /// How much stronger than its path has it the strongest carrier is, in dB.
    fn stronger_db(&self) -> f32 {
        let stronger = self.heard.iter().map(ArrivingOver::stronger_db);
        stronger.reduce(f32::max).unwrap_or(0.0)
    }

    /// How much is left now of the carrier that is left most of, 0 to 1.
    fn left(&self, now: u64) -> f32 {
        let left = self.heard.iter().map(|over| over.left(now));
        left.reduce(f32::max).unwrap_or(1.0)
    }

    /// The other stations' voices in the band; one alone has active level 1.
    fn voice(&self, now: u64) -> f32 {
        self.heard.iter().map(|over| over.voice(now)).sum()
    }

    fn transmit(&mut self, now: u64) -> f32 {
        let around = self.effects.microphone(now) * amplitude(self.sound.speech_dbfs);
        self.spoken(now) + self.road() + around
    }

    /// What is spoken at the operator's microphone while the key is down.
    fn spoken(&self, now: u64) -> f32 {
        if !self.keyed.0 {
            return 0.0;
        }
        let level = amplitude(self.sound.speech_dbfs);
        let voice = |over: &&PlannedOver| {
            let voice = sample_of(over.voice.samples(), sample_at(over.voice_from_s), now) * level;
            if over.delivery.in_car {
                voice * gain(IN_CAR_DB)
            } else {
                voice
            }
        };
        self.spoken.iter().map(voice).sum()
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
