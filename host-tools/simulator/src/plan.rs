//! Lays a scenario out in time, by the length of its spoken words.

mod effects;
mod key;
mod milliseconds;
#[cfg(test)]
pub(crate) mod tests;

use jumpseat_core::journal::AudioDirection;

use crate::random::SeededRandom;
use crate::scenario::{
    DriveEpisode, DriveScenario, DriveSpan, OtherStation, OverDelivery, RadioPath, ScriptedDial,
    ScriptedOver, SpeakerVoice, TruePosition,
};
use crate::synthesis::{SpeechSynthesiser, SpokenClip, SynthesisError};

use effects::EffectLayout;
pub use effects::PlannedEffect;
pub(crate) use milliseconds::round_ms;

/// A drive with every over at its time.
#[derive(Debug)]
pub struct DrivePlan {
    /// What was planned.
    pub scenario: DriveScenario,
    /// Length of the drive in seconds.
    pub length_s: f64,
    /// Overs in order of the times at which they begin; an over may begin before others end.
    pub overs: Vec<PlannedOver>,
    /// Dial changes in order of time, the first at 0.
    pub dial: Vec<(f64, ScriptedDial)>,
    /// From when on which way the band sounds, in order of time, the first at 0.
    pub paths: Vec<(f64, RadioPath)>,
    /// Presses of the mark button in order of time.
    pub marks: Vec<PlannedMark>,
    /// What else is heard and done, in order of the times at which it begins.
    pub effects: Vec<PlannedEffect>,
    /// What is said on the next channel.
    pub neighbour: Option<SpokenClip>,
}

/// An over at its time.
#[derive(Debug)]
pub struct PlannedOver {
    /// Index into [`DriveScenario::episodes`].
    pub episode: usize,
    /// Index into [`DriveEpisode::overs`].
    pub number: usize,
    /// Who speaks.
    pub direction: AudioDirection,
    /// Key down to key up of an over of the operator; carrier, or voice on
    /// sideband, of the other station; voice of somebody in the car.
    pub span: DriveSpan,
    /// When the voice begins; before the span where its start is clipped.
    pub voice_from_s: f64,
    /// The voice at 16 kHz, active level 1.
    pub voice: SpokenClip,
    /// The words.
    pub text: String,
    /// How they are spoken.
    pub delivery: OverDelivery,
}

/// A press of the mark button.
#[derive(Debug, Clone, Copy)]
pub struct PlannedMark {
    /// When.
    pub at_s: f64,
    /// The episode that it was meant for.
    pub episode: usize,
}

/// A button is held this long.
pub const BUTTON_PRESS_S: f64 = 0.22;

/// So much of the voice is missing where the key goes down late, in seconds.
const CLIPPED_S: f64 = 0.25;

/// Presses of the button before an over: the last of them this long before it, each of the
/// others this much before the next.
const MARK_BEFORE_S: (f64, f64) = (0.2, 0.6);

/// An over that overlaps begins at such a part of the one before.
const OVERLAP: (f64, f64) = (0.3, 0.7);

impl PlannedOver {
    /// Whether the operator's key is down for it.
    pub fn keys(&self) -> bool {
        self.direction == AudioDirection::Tx && !self.delivery.in_car
    }

    /// How the other station arrives during this over.
    pub fn path(&self, plan: &DrivePlan) -> Option<RadioPath> {
        Some(plan.scenario.episodes.get(self.episode)?.path)
    }

    /// The other station, when it is one.
    pub fn speaking<'a>(&self, plan: &'a DrivePlan) -> Option<&'a OtherStation> {
        let episode = plan.scenario.episodes.get(self.episode)?;
        let over = episode.overs.get(self.number)?;
        (over.direction == AudioDirection::Rx)
            .then(|| episode.cast.get(over.speaker))
            .flatten()
    }
}

/// Whose voice an over has.
fn voice_of<'a>(
    scenario: &'a DriveScenario,
    episode: &'a DriveEpisode,
    over: &ScriptedOver,
) -> &'a SpeakerVoice {
    // At a written conversation's microphone there may be a second operator or a passenger.
    let cast = over.direction == AudioDirection::Rx || episode.written.is_some();
    match episode.cast.get(over.speaker) {
        Some(speaking) if cast || over.delivery.in_car => &speaking.voice,
        _ => &scenario.voice,
    }
}

/// All that is to be said, with its voice.
fn lines(scenario: &DriveScenario) -> Vec<(SpeakerVoice, String)> {
    let said = scenario.episodes.iter().flat_map(|episode| {
        let voice = |over| voice_of(scenario, episode, over).clone();
        episode
            .overs
            .iter()
            .map(move |over| (voice(over), over.text.clone()))
    });
    said.chain(scenario.neighbour.clone()).collect()
}

impl DrivePlan {
    /// Speaks every over of the scenario and lays it out in time.
    ///
    /// Calls `progress` with the fraction that has been spoken.
    pub fn lay_out(
        scenario: DriveScenario,
        progress: &mut dyn FnMut(f64),
    ) -> Result<Self, SynthesisError> {
        let mut plan = Self {
            length_s: 0.0,
            overs: Vec::new(),
            dial: Vec::new(),
            paths: Vec::new(),
            marks: Vec::new(),
            effects: Vec::new(),
            neighbour: None,
            scenario,
        };
        let mut speaker = SpeechSynthesiser::new()?;
        let mut overlaps = SeededRandom::stream(plan.scenario.seed, "overlaps");
        let mut effects = EffectLayout::new(plan.scenario.seed);
        let mut now_s = 0.0;
        let episodes = plan.scenario.episodes.clone();
        speaker.prepare(&lines(&plan.scenario), progress)?;
        for (index, episode) in episodes.iter().enumerate() {
            now_s = f64::max(now_s + episode.settled_s, episode.not_before_s);
            plan.tune(now_s - episode.settled_s, &episode.dial);
            plan.sound_like(now_s - episode.settled_s, episode.path);
            for &before_s in &episode.early_marks_s {
                plan.mark(now_s - before_s, index);
            }
            for (number, over) in episode.overs.iter().enumerate() {
                let voice = voice_of(&plan.scenario, episode, over);
                let spoken = speaker.speak(voice, &over.text)?;
                let lead_s = plan.lead_s(episode, over);
                let free_s = effects.before((index, episode), number, now_s);
                let overlaps_here = over.delivery.overlapping && number > 0 && free_s.is_none();
                let from_s = round_ms(match plan.overs.last().filter(|_| overlaps_here) {
                    Some(PlannedOver { span, .. }) => {
                        let part = overlaps.between(OVERLAP.0, OVERLAP.1);
                        span.from_s + part * (span.to_s - span.from_s)
                    }
                    None => f64::max(now_s + over.pause_s, free_s.unwrap_or(now_s)),
                });
                // A clipped over begins late, so no carrier stands ahead of its voice.
                let missing_s = if over.delivery.clipped {
                    lead_s + CLIPPED_S.min(spoken.seconds() / 2.0)
                } else {
                    0.0
                };
                let to_s = round_ms(from_s + spoken.seconds() + 2.0 * lead_s - missing_s);
                plan.mark_before((index, episode), number, from_s);
                if let Some(dial) = &over.dial {
                    plan.tune(f64::min(now_s + 0.6 * over.pause_s, from_s), dial);
                }
                if episode.tunnel_before == Some(number) && plan.scenario.receiver.tunnel.is_none()
                {
                    plan.scenario.receiver.tunnel = Some(DriveSpan {
                        from_s: now_s,
                        to_s: from_s,
                    });
                }
                plan.overs.push(PlannedOver {
                    episode: index,
                    number,
                    direction: over.direction,
                    span: DriveSpan { from_s, to_s },
                    voice_from_s: from_s + lead_s - missing_s,
                    voice: spoken,
                    text: over.text.clone(),
                    delivery: over.delivery,
                });
                now_s = f64::max(now_s, to_s);
            }
            plan.mark_before((index, episode), episode.overs.len(), now_s + 1.0);
            for after_s in &episode.marks_s {
                plan.mark(now_s + after_s, index);
            }
            let free_s = effects.before((index, episode), episode.overs.len(), now_s);
            now_s = free_s.unwrap_or(now_s);
            effects.end_episode(now_s);
        }
        if let Some((voice, text)) = &plan.scenario.neighbour {
            plan.neighbour = Some(speaker.speak(voice, text)?);
        }
        plan.effects = effects.finish();
        plan.marks.sort_by(|a, b| a.at_s.total_cmp(&b.at_s));
        let last_mark_s = plan
            .marks
            .last()
            .map_or(0.0, |mark| mark.at_s + BUTTON_PRESS_S);
        let end_s = now_s.max(last_mark_s) + plan.scenario.tail_s;
        plan.length_s = end_s.max(plan.scenario.least_length_s).ceil();
        progress(1.0);
        Ok(plan)
    }

    /// From key down, or carrier, to voice.
    fn lead_s(&self, episode: &DriveEpisode, over: &ScriptedOver) -> f64 {
        let carrier = matches!(episode.path, RadioPath::Fm { .. } | RadioPath::Car(_));
        let switched = match over.direction {
            AudioDirection::Tx => !over.delivery.in_car,
            AudioDirection::Rx => carrier,
        };
        if switched {
            self.scenario.sound.key_lead_s
        } else {
            0.0
        }
    }

    fn tune(&mut self, at_s: f64, dial: &ScriptedDial) {
        let first = self.dial.is_empty();
        if self.dial.last().is_none_or(|(_, set)| set != dial) {
            let at_s = if first { 0.0 } else { round_ms(at_s) };
            self.dial.push((at_s, dial.clone()));
        }
    }

    fn sound_like(&mut self, at_s: f64, path: RadioPath) {
        let first = self.paths.is_empty();
        if self.paths.last().is_none_or(|(_, set)| *set != path) {
            let at_s = if first { 0.0 } else { round_ms(at_s) };
            self.paths.push((at_s, path));
        }
    }

    fn mark(&mut self, at_s: f64, episode: usize) {
        self.marks.push(PlannedMark {
            at_s: round_ms(at_s.max(0.0)),
            episode,
        });
    }

    /// The presses just before the over with this number, which begins at `at_s`.
    fn mark_before(&mut self, (index, episode): (usize, &DriveEpisode), number: usize, at_s: f64) {
        let presses = episode.marks_before.iter().filter(|at| **at == number);
        for press in (0..presses.count()).rev() {
            let before_s = MARK_BEFORE_S.0 + MARK_BEFORE_S.1 * press as f64;
            self.mark(at_s - before_s, index);
        }
    }

    /// Where the car is.
    pub fn position(&self, at_s: f64) -> TruePosition {
        self.scenario.road.at(at_s)
    }

    /// The overs of an episode.
    pub fn overs_of(&self, episode: usize) -> impl Iterator<Item = &PlannedOver> {
        self.overs
            .iter()
            .filter(move |over| over.episode == episode)
    }
}
