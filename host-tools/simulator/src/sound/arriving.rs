//! An over of another station as it arrives.

use super::channel::{self, WattersonChannel};
use super::filter::{FirFilter, VOICE_BAND_HZ};
use super::units::{gain, sample_at};
use crate::plan::{DrivePlan, PlannedOver};
use crate::random::SeededRandom;
use crate::scenario::RadioPath;
use crate::synthesis::active_level;

/// An over of another station as it arrives.
pub(super) struct ArrivingOver {
    /// First sample of the over, and the one after its last.
    from: u64,
    to: u64,
    /// First sample of its voice.
    voice_from: u64,
    /// The voice, active level 1 without fading for a station as strong as its path has it.
    voice: Vec<f32>,
    /// How much of the carrier is left from its start on; empty where all is.
    left: Vec<f32>,
    /// How much stronger than its path has it the carrier is, in dB.
    stronger_db: f32,
}

impl ArrivingOver {
    /// Sends an over through its channel.
    pub(super) fn new(plan: &DrivePlan, over: &PlannedOver) -> Self {
        let mut voice =
            FirFilter::band(VOICE_BAND_HZ.0, VOICE_BAND_HZ.1).clip(over.voice.samples());
        let level = active_level(&voice).max(f32::MIN_POSITIVE);
        voice.iter_mut().for_each(|sample| *sample /= level);
        let mut left = Vec::new();
        let from = sample_at(over.span.from_s);
        let to = sample_at(over.span.to_s);
        let speaking = over.speaking(plan);
        let (level_db, off_hz) = speaking.map_or((0.0, 0.0), |who| (who.level_db, who.off_hz));
        // A station keeps its channel for the whole episode.
        let name = speaking.map_or_else(String::new, |who| who.voice.to_string());
        let name = format!("channel {} {name}", over.episode);
        let mut random = SeededRandom::stream(plan.scenario.seed, &name);
        let louder_db = over.delivery.louder_db;
        let mut stronger_db = 0.0;
        match over.path(plan) {
            Some(RadioPath::Hf(hf)) => {
                let channel = WattersonChannel::new(&mut random, hf.delay_s, hf.spread_hz, off_hz);
                voice = channel.clip(&voice, from);
                voice
                    .iter_mut()
                    .for_each(|sample| *sample *= gain(level_db + louder_db));
            }
            Some(RadioPath::Ssb { .. }) => {
                voice
                    .iter_mut()
                    .for_each(|sample| *sample *= gain(louder_db));
            }
            Some(RadioPath::Car(car)) => {
                stronger_db = louder_db;
                // Only a written conversation says of the station itself how strong it is.
                let episode = plan.scenario.episodes.get(over.episode);
                if episode.is_some_and(|episode| episode.written.is_some()) {
                    stronger_db += level_db;
                }
                if let Some((fades_hz, share)) = car.pickets {
                    let count = (to - from) as usize;
                    left = channel::pickets(&mut random, fades_hz, share, from, count);
                }
            }
            Some(RadioPath::Fm { .. }) => stronger_db = louder_db,
            None => {}
        }
        Self {
            from,
            to,
            voice_from: sample_at(over.voice_from_s),
            voice,
            left,
            stronger_db,
        }
    }

    /// How much stronger than its path has it the carrier is, in dB: it does not change the
    /// loudness of the voice, but there is less noise under it.
    pub(super) fn stronger_db(&self) -> f32 {
        self.stronger_db
    }

    /// Whether it is over.
    pub(super) fn is_over(&self, now: u64) -> bool {
        self.to <= now
    }

    /// The voice now.
    pub(super) fn voice(&self, now: u64) -> f32 {
        sample_of(&self.voice, self.voice_from, now)
    }

    /// How much of the carrier is left now, 0 to 1.
    pub(super) fn left(&self, now: u64) -> f32 {
        let since = now.saturating_sub(self.from);
        let index = usize::try_from(since).ok();
        let left = index.and_then(|index| self.left.get(index));
        left.copied().unwrap_or(1.0)
    }
}

/// The sample of a clip that began at sample `from`; 0 outside it.
pub(super) fn sample_of(clip: &[f32], from: u64, now: u64) -> f32 {
    now.checked_sub(from)
        .and_then(|index| clip.get(usize::try_from(index).ok()?))
        .copied()
        .unwrap_or(0.0)
}
