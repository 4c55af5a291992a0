//! Transmissions, and what came back after each.

use crate::{AssemblyInput, DialSetting, DraftRules, OverDirection, Span, SpeechActivity, dial};

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
    /// When the listening ended.
    pub(crate) until_s: f64,
    /// Received overs in between, most often one.
    pub(crate) received: Vec<usize>,
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

    /// End of what came back at once, the first longer pause ending it;
    /// `None` when nothing came back in time.
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
        let span = Span::new(over.start_s, over.end_s);
        match over.direction {
            OverDirection::Tx if span.length_s() >= rules.shortest_tx_s => {
                let settled_s = (over.start_s + rules.dial_lag_s).min(over.end_s);
                turns.push(TransmissionTurn {
                    over: index,
                    span,
                    dial: dial::setting_at(&drive.dial, settled_s),
                    until_s: over.end_s,
                    received: Vec::new(),
                    speech: Vec::new(),
                    unknown: false,
                });
            }
            OverDirection::Tx => {}
            OverDirection::Rx => {
                if let Some(turn) = turns.last_mut() {
                    listen(drive, rules, turn, index);
                }
            }
        }
    }
    for index in 1..turns.len() {
        turns[index - 1].until_s = turns[index].span.start_s;
    }
    if let Some(last) = turns.last_mut() {
        last.until_s = last.until_s.max(drive.length_s);
    }
    turns
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
    turn.until_s = over.end_s;
    turn.received.push(index);
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
