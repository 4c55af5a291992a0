//! What speaks for and against a stretch of events being a contact.
//!
//! Every feature is a name and a number; what it is worth is a weight that was
//! fitted on simulated drives ([`crate::model`]), not set by feel.

use crate::event::Event;
use crate::{Direction, Drive, Span};

/// Names of all features, in the order of the weights.
pub(crate) const NAMES: [&str; 70] = [
    "start",
    "start_received",
    "start_general_call",
    "start_soon_after_transmission",
    "start_soon_after_speech",
    "start_replied_soon",
    "start_own_sign",
    "tx_tx_2",
    "tx_tx_8",
    "tx_tx_20",
    "tx_tx_60",
    "tx_tx_more",
    "tx_rx_2",
    "tx_rx_8",
    "tx_rx_20",
    "tx_rx_60",
    "tx_rx_more",
    "rx_tx_2",
    "rx_tx_8",
    "rx_tx_20",
    "rx_tx_60",
    "rx_tx_more",
    "rx_rx_2",
    "rx_rx_8",
    "rx_rx_20",
    "rx_rx_60",
    "rx_rx_more",
    "dial_near",
    "general_call_within",
    "general_call_received_within",
    "own_sign_received",
    "own_sign_not_received",
    "after_farewell",
    "same_partner",
    "other_partner",
    "same_side_goes_on_minutes",
    "tx_names_partner",
    "audio_missing",
    "end_tx_2",
    "end_tx_8",
    "end_tx_20",
    "end_tx_60",
    "end_tx_more",
    "end_rx_2",
    "end_rx_8",
    "end_rx_20",
    "end_rx_60",
    "end_rx_more",
    "end_is_transmission",
    "end_farewell",
    "end_marked",
    "end_dial_moves",
    "end_partner_goes_on",
    "nothing_received",
    "one_transmission",
    "no_exchange",
    "one_exchange",
    "marked_within",
    "log_minutes",
    "events",
    "other_tx",
    "other_tx_general_call",
    "other_rx_own_sign",
    "other_rx_after_tx",
    "other_rx_before_tx",
    "other_marked",
    "other_tx_answered",
    "other_tx_names_partner",
    "other_farewell",
    "other_tx_short",
];

/// A feature's place among [`NAMES`], and its value.
pub(crate) type Active = (usize, f64);

/// Answers and overs follow one another within this time, in seconds (common practice).
const SOON_S: f64 = 8.0;

/// A recording that ends within this time of an event was cut off by its end, in seconds.
const CUT_S: f64 = 1.0;

/// A station of a round is heard again within so many events, and seconds (our choice).
const ROUND: usize = 8;
const ROUND_S: f64 = 150.0;

/// The events of a drive with all that the features need.
pub(crate) struct Scene<'a> {
    pub(crate) events: &'a [Event],
    pub(crate) marks: &'a [f64],
    /// Length of the drive in seconds.
    pub(crate) length_s: f64,
}

impl<'a> Scene<'a> {
    pub(crate) fn of(drive: &'a Drive, events: &'a [Event]) -> Self {
        Self {
            events,
            marks: &drive.marks,
            length_s: drive.length_s,
        }
    }

    /// Of event `at` beginning a contact.
    pub(crate) fn start(&self, at: usize) -> Vec<Active> {
        let event = &self.events[at];
        let mut out = vec![(id("start"), 1.0)];
        let mut add = |name, value: f64| push(&mut out, name, value);
        add("start_received", flag(event.direction == Direction::Rx));
        add("start_general_call", event.cq);
        if event.direction == Direction::Rx {
            add("start_own_sign", event.own);
        }
        if let Some(before) = at.checked_sub(1).map(|before| &self.events[before]) {
            let gap_s = event.span.start_s - before.span.end_s;
            let near = moved(before, event) != Moved::Far;
            match before.direction {
                Direction::Tx => add("start_soon_after_transmission", flag(gap_s < 20.0 && near)),
                Direction::Rx => add("start_soon_after_speech", flag(gap_s < 3.0 && near)),
            }
        }
        add("start_replied_soon", flag(self.replied(at)));
        out
    }

    /// The next event comes from the other side, soon, on the same setting.
    fn replied(&self, at: usize) -> bool {
        let event = &self.events[at];
        self.events.get(at + 1).is_some_and(|next| {
            next.direction != event.direction
                && next.span.start_s - event.span.end_s < SOON_S
                && moved(event, next) != Moved::Far
        })
    }

    /// Of a contact going on from event `at - 1` to event `at`.
    pub(crate) fn step(&self, at: usize) -> Vec<Active> {
        let (before, event) = (&self.events[at - 1], &self.events[at]);
        let gap_s = event.span.start_s - before.span.end_s;
        let first = match (before.direction, event.direction) {
            (Direction::Tx, Direction::Tx) => "tx_tx_2",
            (Direction::Tx, Direction::Rx) => "tx_rx_2",
            (Direction::Rx, Direction::Tx) => "rx_tx_2",
            (Direction::Rx, Direction::Rx) => "rx_rx_2",
        };
        let mut out = vec![(id(first) + bucket(gap_s), 1.0)];
        let mut add = |name, value: f64| push(&mut out, name, value);
        add("dial_near", flag(moved(before, event) == Moved::Near));
        match event.direction {
            Direction::Tx => {
                add("general_call_within", event.cq);
                add("tx_names_partner", best(event));
            }
            Direction::Rx => {
                add("general_call_received_within", event.cq);
                add("own_sign_received", event.own);
                add(
                    "own_sign_not_received",
                    flag(event.listened) * (1.0 - event.own),
                );
            }
        }
        if before.direction == event.direction {
            add("same_side_goes_on_minutes", event.span.length_s() / 60.0);
        }
        add("after_farewell", before.farewell);
        add("audio_missing", flag(event.unknown));
        let earlier = self.events[..at].iter().rev().find(|one| best(one) > 0.5);
        if let Some(earlier) = earlier.filter(|_| best(event) > 0.5) {
            let same = alike(earlier, event);
            add("same_partner", same);
            add("other_partner", (1.0 - same) * best(event));
        }
        out
    }

    /// Whether a contact can go on from event `at - 1`: it does not outlive a move to
    /// another channel. This is a rule and no weight.
    pub(crate) fn goes_on(&self, at: usize) -> bool {
        moved(&self.events[at - 1], &self.events[at]) != Moved::Far
    }

    /// Of event `at` ending a contact.
    pub(crate) fn end(&self, at: usize) -> Vec<Active> {
        let event = &self.events[at];
        let mut out = Vec::new();
        match self.events.get(at + 1) {
            // Whatever would come next comes later than the recording ends; one that ends
            // with the event says nothing of that.
            None => {
                let gap_s = self.length_s - event.span.end_s;
                if gap_s > CUT_S {
                    out.push((id("end_rx_2") + bucket(gap_s), 1.0));
                }
            }
            Some(next) => {
                let first = match next.direction {
                    Direction::Tx => "end_tx_2",
                    Direction::Rx => "end_rx_2",
                };
                let gap_s = next.span.start_s - event.span.end_s;
                out.push((id(first) + bucket(gap_s), 1.0));
                push(
                    &mut out,
                    "end_dial_moves",
                    flag(moved(event, next) == Moved::Far),
                );
            }
        }
        let mut add = |name, value: f64| push(&mut out, name, value);
        add(
            "end_is_transmission",
            flag(event.direction == Direction::Tx),
        );
        let before = at
            .checked_sub(1)
            .map_or(0.0, |before| self.events[before].farewell);
        add("end_farewell", event.farewell.max(before));
        add("end_partner_goes_on", self.partner_goes_on(at));
        add(
            "end_marked",
            flag(self.marked(event.span.end_s - 4.0, event.span.end_s + 35.0)),
        );
        out
    }

    /// Of the events from `first` to `last` being one contact.
    pub(crate) fn whole(&self, first: usize, last: usize, counts: Counts) -> Vec<Active> {
        let mut out = Vec::new();
        let mut add = |name, value: f64| push(&mut out, name, value);
        let (from_s, to_s) = (
            self.events[first].span.start_s,
            self.events[last].span.end_s,
        );
        add("nothing_received", flag(counts.received == 0));
        add("one_transmission", flag(counts.transmitted == 1));
        add("no_exchange", flag(counts.exchanges == 0));
        add("one_exchange", flag(counts.exchanges == 1));
        add("marked_within", flag(self.marked(from_s, to_s)));
        add("log_minutes", ((to_s - from_s) / 60.0).ln_1p());
        add("events", ((last - first + 1) as f64).ln());
        out
    }

    /// Of event `at` belonging to no contact.
    pub(crate) fn other(&self, at: usize) -> Vec<Active> {
        let event = &self.events[at];
        let mut out = Vec::new();
        let mut add = |name, value: f64| push(&mut out, name, value);
        let before = at.checked_sub(1).map(|before| &self.events[before]);
        let after_tx = before.is_some_and(|before| {
            before.direction == Direction::Tx
                && event.span.start_s - before.span.end_s < SOON_S
                && moved(before, event) != Moved::Far
        });
        match event.direction {
            Direction::Tx => {
                add("other_tx", 1.0);
                add("other_tx_general_call", event.cq);
                add("other_tx_answered", flag(self.replied(at)));
                add("other_tx_names_partner", best(event));
                add("other_tx_short", flag(event.span.length_s() < 4.0));
            }
            Direction::Rx => {
                add("other_rx_own_sign", event.own);
                add("other_rx_after_tx", flag(after_tx));
                add("other_rx_before_tx", flag(self.replied(at)));
            }
        }
        add("other_farewell", event.farewell);
        add(
            "other_marked",
            flag(self.marked(event.span.start_s, event.span.end_s + 12.0)),
        );
        out
    }

    /// How far a station that was heard around event `at` is heard again soon after it, on
    /// the same setting: in a round of several stations each is silent for long.
    fn partner_goes_on(&self, at: usize) -> f64 {
        let here = &self.events[at];
        let near = |one: &&Event| best(one) > 0.5 && moved(here, one) != Moved::Far;
        let before = self.events[at.saturating_sub(ROUND)..=at]
            .iter()
            .filter(near);
        let after = self.events[at + 1..]
            .iter()
            .take(ROUND)
            .filter(|one| near(one) && one.span.start_s - here.span.end_s < ROUND_S);
        let again = before.flat_map(|one| after.clone().map(|other| alike(one, other)));
        again.fold(0.0, f64::max)
    }

    fn marked(&self, from_s: f64, to_s: f64) -> bool {
        self.marks.iter().any(|mark| (from_s..=to_s).contains(mark))
    }
}

/// What a stretch of events holds.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Counts {
    pub(crate) transmitted: usize,
    pub(crate) received: usize,
    /// Times that the operator spoke again after somebody else had.
    pub(crate) exchanges: usize,
    /// Times that the word went from one side to the other.
    pub(crate) turns: usize,
}

impl Counts {
    /// With one more event, which follows `before`.
    pub(crate) fn with(mut self, event: &Event, before: Option<&Event>) -> Self {
        self.turns += usize::from(before.is_some_and(|one| one.direction != event.direction));
        match event.direction {
            Direction::Tx => {
                self.transmitted += 1;
                let after_speech = before.is_some_and(|one| one.direction == Direction::Rx);
                self.exchanges += usize::from(after_speech && self.transmitted > 1);
            }
            Direction::Rx => self.received += 1,
        }
        self
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Moved {
    No,
    Near,
    Far,
}

/// How far the dial moved from one event to the other. The most that people move to
/// get away from others on the channel is about 10 kHz (common practice).
fn moved(before: &Event, event: &Event) -> Moved {
    match (&before.dial, &event.dial) {
        (Some(one), Some(other)) if one.mode != other.mode => Moved::Far,
        (Some(one), Some(other)) => match one.hz.abs_diff(other.hz) {
            0..=500 => Moved::No,
            // A repeater: the dial shows another frequency while the key is down.
            _ if one.mode == "FM" && before.direction != event.direction => Moved::No,
            501..=10_000 => Moved::Near,
            _ => Moved::Far,
        },
        _ => Moved::No,
    }
}

fn best(event: &Event) -> f64 {
    event.others.values().copied().fold(0.0, f64::max)
}

/// How far two events name the same station.
fn alike(one: &Event, other: &Event) -> f64 {
    let shared = one.others.iter().map(|(sign, share)| {
        let near = other
            .others
            .iter()
            .filter(|(text, _)| crate::station::distance(sign, text) <= 1);
        share * near.map(|(_, share)| *share).fold(0.0, f64::max)
    });
    shared.fold(0.0, f64::max)
}

/// Which of five lengths a silence has.
fn bucket(gap_s: f64) -> usize {
    [2.5, 8.0, 20.0, 60.0]
        .iter()
        .filter(|limit| gap_s >= **limit)
        .count()
}

fn flag(is: bool) -> f64 {
    f64::from(u8::from(is))
}

fn id(name: &str) -> usize {
    NAMES
        .iter()
        .position(|known| *known == name)
        .unwrap_or(NAMES.len() - 1)
}

fn push(out: &mut Vec<Active>, name: &str, value: f64) {
    if value != 0.0 {
        out.push((id(name), value));
    }
}

/// Where an event lies with respect to true contacts, for fitting.
pub(crate) fn within(event: &Event, contact: &Span) -> bool {
    let middle_s = (event.span.start_s + event.span.end_s) / 2.0;
    (contact.start_s - 0.5..=contact.end_s + 0.5).contains(&middle_s)
}
