//! Transmissions and stretches of received speech, in order of time: what contacts
//! are made of.

use std::collections::BTreeMap;

use jumpseat_vocabulary::WordSense;

use crate::heard::HeardOver;
use crate::{AssemblyInput, DialSetting, DraftRules, OverDirection, Span, SpeechActivity, dial};

/// Received speech with shorter pauses is one event, in seconds: people breathe
/// within an over, and take longer to hand over.
const BREATH_S: f64 = 0.8;

/// A transmission, or a stretch of received speech.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct DriveEvent {
    /// Index of the over.
    pub(crate) over: usize,
    pub(crate) direction: OverDirection,
    pub(crate) span: Span,
    pub(crate) dial: Option<DialSetting>,
    /// A recogniser listened to it.
    pub(crate) listened: bool,
    /// Its audio could not be examined.
    pub(crate) unknown: bool,
    /// Probability that the operator's call sign, or its suffix, was said.
    pub(crate) own: f64,
    /// Probability of a general call, or of asking who called.
    pub(crate) cq: f64,
    /// Probability of a general call.
    pub(crate) general_call: f64,
    /// Probability of a farewell.
    pub(crate) farewell: f64,
    /// Call signs of others: each with its probability.
    pub(crate) others: BTreeMap<String, f64>,
}

/// What was heard with less than this probability decides nothing by itself.
const LEAST_HEARD_PROBABILITY: f64 = 0.5;

impl DriveEvent {
    /// The operator calls anybody.
    pub(crate) fn calls_all(&self) -> bool {
        self.direction == OverDirection::Tx && self.general_call > LEAST_HEARD_PROBABILITY
    }

    /// Somebody says a call sign, so that it may be an answer; or nobody listened, and it
    /// may be one as well.
    pub(crate) fn answers(&self) -> bool {
        let signed = self
            .own
            .max(self.others.values().copied().fold(0.0, f64::max));
        self.direction == OverDirection::Rx && (!self.listened || signed > LEAST_HEARD_PROBABILITY)
    }
}

/// The events of a drive.
pub(crate) fn events(drive: &AssemblyInput, rules: &DraftRules) -> Vec<DriveEvent> {
    let mut events = Vec::new();
    for (index, over) in drive.overs.iter().enumerate() {
        let whole = Span::new(over.start_s, over.end_s);
        match (over.direction, &over.activity) {
            (OverDirection::Tx, _) => {
                if whole.length_s() >= rules.shortest_tx_s {
                    events.push(event(drive, rules, index, whole, false));
                }
            }
            (OverDirection::Rx, SpeechActivity::Unknown) => {
                events.push(event(drive, rules, index, whole, true));
            }
            (OverDirection::Rx, SpeechActivity::Found(spans)) => {
                let long = |span: &Span| span.length_s() >= rules.least_answer_s;
                for span in joined(spans).into_iter().filter(long) {
                    events.push(event(drive, rules, index, span, false));
                }
            }
        }
    }
    events
}

fn joined(spans: &[Span]) -> Vec<Span> {
    let mut out: Vec<Span> = Vec::new();
    for span in spans {
        match out.last_mut() {
            Some(last) if span.start_s - last.end_s < BREATH_S => last.end_s = span.end_s,
            _ => out.push(*span),
        }
    }
    out
}

fn event(
    drive: &AssemblyInput,
    rules: &DraftRules,
    index: usize,
    span: Span,
    unknown: bool,
) -> DriveEvent {
    let over = &drive.overs[index];
    let settled_s = (span.start_s + rules.dial_lag_s).min(span.end_s);
    let mut event = DriveEvent {
        over: index,
        direction: over.direction,
        span,
        dial: dial::setting_at(&drive.dial, settled_s).cloned(),
        listened: over.heard.is_some(),
        unknown,
        own: 0.0,
        cq: 0.0,
        general_call: 0.0,
        farewell: 0.0,
        others: BTreeMap::new(),
    };
    if let Some(heard) = &over.heard {
        listen(&mut event, heard, drive);
    }
    event
}

/// Takes what was heard within the event.
fn listen(event: &mut DriveEvent, heard: &HeardOver, drive: &AssemblyInput) {
    let own = drive.own.as_deref().unwrap_or_default();
    for sign in &heard.signs {
        if !sign.spans.iter().any(|span| span.meets(&event.span)) {
            continue;
        }
        for (text, probability) in &sign.candidates {
            if text == own || drive.also_own.contains(text) {
                event.own = either(event.own, *probability);
            } else if !drive.is_own(text) {
                let known = event.others.entry(text.clone()).or_insert(0.0);
                *known = either(*known, *probability);
            }
        }
    }
    let words: Vec<_> = heard
        .words
        .iter()
        .filter(|word| word.span.meets(&event.span))
        .collect();
    let own = own.as_bytes();
    let suffix_at = own
        .iter()
        .rposition(u8::is_ascii_digit)
        .map_or(0, |at| at + 1);
    let suffix = String::from_utf8_lossy(&own[suffix_at..]).into_owned();
    if suffix.len() > 1 {
        for run in words.windows(suffix.len()) {
            let symbols: String = run.iter().map(|word| word.symbol.as_str()).collect();
            if symbols == suffix {
                let all: f64 = run.iter().map(|word| word.probability).product();
                event.own = either(event.own, all);
            }
        }
    }
    for (at, word) in words.iter().enumerate() {
        let next = words.get(at + 1);
        let three = |word: &&&crate::heard::HeardWord| word.symbol == "3";
        if word.means(WordSense::GeneralCall) {
            event.general_call = either(event.general_call, word.probability);
        }
        if word.means_any(&[WordSense::GeneralCall, WordSense::WhoCalls]) {
            event.cq = either(event.cq, word.probability);
        }
        if word.symbol == "70" && next.filter(three).is_some() || word.means(WordSense::SigningOff)
        {
            event.farewell = either(event.farewell, word.probability);
        }
        // 'bye' sounds like 'by', and is said twice.
        if word.means(WordSense::Bye) && next.is_some_and(|next| next.means(WordSense::Bye)) {
            event.farewell = either(event.farewell, 0.8 * word.probability);
        }
        if word.symbol == "7" && next.filter(three).is_some() {
            event.farewell = either(event.farewell, 0.8 * word.probability);
        }
    }
}

/// Probability of one thing or the other or both.
fn either(one: f64, other: f64) -> f64 {
    1.0 - (1.0 - one) * (1.0 - other.clamp(0.0, 1.0))
}

/// A piece of the operator's own sign is no other station.
pub(crate) fn is_part_of(text: &str, own: &str) -> bool {
    !own.is_empty() && (own.contains(text) || crate::station::distance(text, own) <= 1)
}
