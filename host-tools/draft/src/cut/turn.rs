//! Transmissions, and what came back after each.

use jumpseat_values::{DialDoubt, DialSetting, Estimate, Evidence, Span};

use super::transmission::{setting_in, transmission};
use crate::drive::{AssemblyInput, OverDirection, SpeechActivity};
use crate::{DraftRules, dial};

/// Speech in one received over.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct AnswerSpeech {
    /// Index of the over.
    pub(crate) over: usize,
    /// When.
    pub(crate) span: Span,
}

/// One transmission and the listening after it, up to the next transmission
/// or the end of the trip.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct TransmissionTurn<'a> {
    /// Index of the transmitted over.
    pub(crate) over: usize,
    /// When the key was down.
    pub(crate) span: Span,
    /// The dial while it was.
    pub(crate) dial: Option<&'a DialSetting>,
    /// Speech that came back while the dial stayed where it was.
    pub(crate) speech: Vec<AnswerSpeech>,
    /// Received audio after this transmission could not be examined.
    pub(crate) unknown: bool,
}

impl TransmissionTurn<'_> {
    /// Somebody came back to it, or may have where audio is missing.
    pub(crate) fn answered(&self, rules: &DraftRules) -> bool {
        let soon = self
            .speech
            .first()
            .is_some_and(|first| first.span.start_s - self.span.end_s <= rules.answer_within_s);
        let amount: f64 = self.speech.iter().map(|found| found.span.length_s()).sum();
        self.unknown || (soon && amount >= rules.least_answer_s)
    }

    /// The last speech that came back at once; the first longer pause ends it. `None` when
    /// nothing came back in time.
    pub(crate) fn farewell(&self, rules: &DraftRules) -> Option<AnswerSpeech> {
        let mut last: Option<AnswerSpeech> = None;
        for found in &self.speech {
            let (before, allowed) = match last {
                None => (self.span.end_s, rules.answer_within_s),
                Some(last) => (last.span.end_s, rules.farewell_pause_s),
            };
            if found.span.start_s - before > allowed {
                break;
            }
            last = Some(*found);
        }
        last
    }
}

/// The transmissions of a drive in order. Speech before the first is nobody's.
pub(crate) fn turns<'a>(drive: &'a AssemblyInput, rules: &DraftRules) -> Vec<TransmissionTurn<'a>> {
    let mut turns: Vec<TransmissionTurn<'a>> = Vec::new();
    for (index, over) in drive.overs.iter().enumerate() {
        if let Some(span) = transmission(over, rules) {
            turns.push(TransmissionTurn {
                over: index,
                span,
                dial: setting_in(drive, &span, rules),
                speech: Vec::new(),
                unknown: false,
            });
        } else if over.direction == OverDirection::Rx
            && let Some(turn) = turns.last_mut()
        {
            listen(drive, rules, turn, index);
        }
    }
    turns
}

/// The first setting that was known during these transmissions.
pub(crate) fn first_setting(turns: &[&TransmissionTurn<'_>]) -> Estimate<DialSetting> {
    let known = turns.iter().find_map(|turn| Some((turn, turn.dial?)));
    match known {
        None => Estimate::unknown(DialDoubt::Silent),
        Some((turn, setting)) => {
            let evidence = Evidence::in_over(turn.over, turn.span);
            Estimate::known(setting.clone(), vec![evidence])
        }
    }
}

/// Adds one received over to the listening after a transmission.
///
/// Some rigs show another frequency while the key is down (split, repeater
/// shift), so speech counts when the dial is where it was during the
/// transmission or where it settled after it.
fn listen(
    drive: &AssemblyInput,
    rules: &DraftRules,
    turn: &mut TransmissionTurn<'_>,
    index: usize,
) {
    let over = &drive.overs[index];
    let settled = dial::setting_at(&drive.dial, turn.span.end_s + rules.dial_lag_s);
    match &over.activity {
        SpeechActivity::Unknown => turn.unknown = true,
        SpeechActivity::Found(spans) => turn.speech.extend(
            spans
                .iter()
                .filter(|span| {
                    let now = dial::setting_at(&drive.dial, span.start_s);
                    dial::same_channel(now, turn.dial, rules.nudge_hz)
                        || dial::same_channel(now, settled, rules.nudge_hz)
                })
                .map(|&span| AnswerSpeech { over: index, span }),
        ),
    }
}
