//! Which station of a contact a heard word belongs to.

use crate::drive::{AssemblyInput, OverDirection};
use crate::over_stretch::OverStretch;
use crate::station::StationCandidate;

/// Signs said closer together than this belong together: to whom, and from whom.
const SIGNS_TOGETHER_S: f64 = 2.0;
/// A sign that comes later than this after a word says nothing of who spoke it.
const SIGN_FOLLOWS_S: f64 = 45.0;

/// The stations of a contact, and where the call sign of each was said.
pub(crate) struct SpeakerAttribution<'a> {
    drive: &'a AssemblyInput,
    /// Every mention in order of time, with the number of its station.
    mentions: Vec<(usize, OverStretch)>,
    alone: bool,
}

impl<'a> SpeakerAttribution<'a> {
    pub(crate) fn of(drive: &'a AssemblyInput, stations: &[StationCandidate]) -> Self {
        let mut mentions: Vec<(usize, OverStretch)> = stations
            .iter()
            .enumerate()
            .flat_map(|(number, one)| one.said.iter().map(move |at| (number, *at)))
            .collect();
        mentions.sort_by(|one, other| one.1.start_s.total_cmp(&other.1.start_s));
        Self {
            drive,
            mentions,
            alone: stations.len() < 2,
        }
    }

    /// Whether what was said there was said by or to another station than this one. A
    /// speaker says his own sign last, 'to' before 'from' (common practice); the operator
    /// says the sign of the station he speaks to first.
    pub(crate) fn is_of_another(&self, station: usize, at: &OverStretch) -> bool {
        if self.alone {
            return false;
        }
        let direction = self.drive.overs.get(at.over).map(|over| over.direction);
        let whose = match direction {
            Some(OverDirection::Tx) => self.spoken_to(at),
            _ => self.speaker(at).or_else(|| self.called_before(at)),
        };
        whose.is_some_and(|whose| whose != station)
    }

    /// The last of the signs that are said together, next after this word.
    fn speaker(&self, at: &OverStretch) -> Option<usize> {
        let after =
            |one: &&(usize, OverStretch)| one.1.over == at.over && one.1.start_s >= at.start_s;
        let mut next = self.mentions.iter().filter(after);
        let (mut whose, mut last) = next.next().copied()?;
        if last.start_s - at.end_s > SIGN_FOLLOWS_S {
            return None;
        }
        for (number, mention) in next {
            if mention.start_s - last.end_s > SIGNS_TOGETHER_S {
                break;
            }
            (whose, last) = (*number, *mention);
        }
        Some(whose)
    }

    /// Whom the operator spoke to last before this.
    fn called_before(&self, at: &OverStretch) -> Option<usize> {
        let sent = |over: usize| {
            let over = self.drive.overs.get(over);
            over.is_some_and(|over| over.direction == OverDirection::Tx)
        };
        let before = self.mentions.iter().rev();
        before
            .filter(|(_, mention)| mention.end_s <= at.start_s && sent(mention.over))
            .map(|(number, _)| *number)
            .next()
    }

    /// Whose sign the operator said next before this word in this transmission, or, if
    /// none, next after it.
    fn spoken_to(&self, at: &OverStretch) -> Option<usize> {
        let mut here = self
            .mentions
            .iter()
            .filter(|(_, mention)| mention.over == at.over);
        let before = here
            .clone()
            .rfind(|(_, mention)| mention.start_s <= at.start_s);
        before.or_else(|| here.next()).map(|(number, _)| *number)
    }
}
