//! The features that speak for or against a run of events being a contact.
//!
//! Every feature is a name and a number; what it is worth is a weight that was
//! fitted on simulated drives ([`crate::model`]), not set by feel.

mod counts;
mod name;
mod pair;

pub(crate) use self::counts::EventCounts;
pub(crate) use self::name::{ActiveFeature, FEATURE_NAMES};

use jumpseat_values::Span;

use self::name::{bucket, flag, id, push};
use self::pair::{DialMove, alike, best, moved};
use crate::cut::DriveEvent;
use crate::{AssemblyInput, OverDirection};

/// Answers and overs follow one another within this time, in seconds (common practice).
const REPLY_WITHIN_S: f64 = 8.0;

/// A recording that ends within this time of an event was cut off by its end, in seconds.
const CUT_OFF_WITHIN_S: f64 = 1.0;

/// A station of a round is heard again within so many events, and seconds (our choice).
const ROUND_EVENTS: usize = 8;
const ROUND_S: f64 = 150.0;

/// The events of a drive with all that the features need.
pub(crate) struct FeatureScene<'a> {
    pub(crate) events: &'a [DriveEvent],
    pub(crate) marks: &'a [f64],
    /// Length of the drive in seconds.
    pub(crate) length_s: f64,
}

impl<'a> FeatureScene<'a> {
    pub(crate) fn of(drive: &'a AssemblyInput, events: &'a [DriveEvent]) -> Self {
        Self {
            events,
            marks: &drive.marks,
            length_s: drive.length_s,
        }
    }

    /// Of event `at` beginning a contact.
    pub(crate) fn start(&self, at: usize) -> Vec<ActiveFeature> {
        let event = &self.events[at];
        let mut out = vec![(id("start"), 1.0)];
        let mut add = |name, value: f64| push(&mut out, name, value);
        add("start_received", flag(event.direction == OverDirection::Rx));
        add("start_general_call", event.cq);
        if event.direction == OverDirection::Rx {
            add("start_own_sign", event.own);
        }
        if let Some(before) = at.checked_sub(1).map(|before| &self.events[before]) {
            let gap_s = event.span.start_s - before.span.end_s;
            let near = moved(before, event) != DialMove::Far;
            match before.direction {
                OverDirection::Tx => {
                    add("start_soon_after_transmission", flag(gap_s < 20.0 && near))
                }
                OverDirection::Rx => add("start_soon_after_speech", flag(gap_s < 3.0 && near)),
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
                && next.span.start_s - event.span.end_s < REPLY_WITHIN_S
                && moved(event, next) != DialMove::Far
        })
    }

    /// Of a contact going on from event `at - 1` to event `at`.
    pub(crate) fn step(&self, at: usize) -> Vec<ActiveFeature> {
        let (before, event) = (&self.events[at - 1], &self.events[at]);
        let gap_s = event.span.start_s - before.span.end_s;
        let first = match (before.direction, event.direction) {
            (OverDirection::Tx, OverDirection::Tx) => "tx_tx_2",
            (OverDirection::Tx, OverDirection::Rx) => "tx_rx_2",
            (OverDirection::Rx, OverDirection::Tx) => "rx_tx_2",
            (OverDirection::Rx, OverDirection::Rx) => "rx_rx_2",
        };
        let mut out = vec![(id(first) + bucket(gap_s), 1.0)];
        let mut add = |name, value: f64| push(&mut out, name, value);
        add("dial_near", flag(moved(before, event) == DialMove::Near));
        match event.direction {
            OverDirection::Tx => {
                add("general_call_within", event.cq);
                add("tx_names_partner", best(event));
            }
            OverDirection::Rx => {
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
        moved(&self.events[at - 1], &self.events[at]) != DialMove::Far
    }

    /// Of event `at` ending a contact.
    pub(crate) fn end(&self, at: usize) -> Vec<ActiveFeature> {
        let event = &self.events[at];
        let mut out = Vec::new();
        match self.events.get(at + 1) {
            // Whatever would come next comes later than the recording ends; one that ends
            // with the event says nothing of that.
            None => {
                let gap_s = self.length_s - event.span.end_s;
                if gap_s > CUT_OFF_WITHIN_S {
                    out.push((id("end_rx_2") + bucket(gap_s), 1.0));
                }
            }
            Some(next) => {
                let first = match next.direction {
                    OverDirection::Tx => "end_tx_2",
                    OverDirection::Rx => "end_rx_2",
                };
                let gap_s = next.span.start_s - event.span.end_s;
                out.push((id(first) + bucket(gap_s), 1.0));
                push(
                    &mut out,
                    "end_dial_moves",
                    flag(moved(event, next) == DialMove::Far),
                );
            }
        }
        let mut add = |name, value: f64| push(&mut out, name, value);
        add(
            "end_is_transmission",
            flag(event.direction == OverDirection::Tx),
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
    pub(crate) fn whole(
        &self,
        first: usize,
        last: usize,
        counts: EventCounts,
    ) -> Vec<ActiveFeature> {
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
    pub(crate) fn other(&self, at: usize) -> Vec<ActiveFeature> {
        let event = &self.events[at];
        let mut out = Vec::new();
        let mut add = |name, value: f64| push(&mut out, name, value);
        let before = at.checked_sub(1).map(|before| &self.events[before]);
        let after_tx = before.is_some_and(|before| {
            before.direction == OverDirection::Tx
                && event.span.start_s - before.span.end_s < REPLY_WITHIN_S
                && moved(before, event) != DialMove::Far
        });
        match event.direction {
            OverDirection::Tx => {
                add("other_tx", 1.0);
                add("other_tx_general_call", event.cq);
                add("other_tx_answered", flag(self.replied(at)));
                add("other_tx_names_partner", best(event));
                add("other_tx_short", flag(event.span.length_s() < 4.0));
            }
            OverDirection::Rx => {
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
        let near = |one: &&DriveEvent| best(one) > 0.5 && moved(here, one) != DialMove::Far;
        let before = self.events[at.saturating_sub(ROUND_EVENTS)..=at]
            .iter()
            .filter(near);
        let after = self.events[at + 1..]
            .iter()
            .take(ROUND_EVENTS)
            .filter(|one| near(one) && one.span.start_s - here.span.end_s < ROUND_S);
        let again = before.flat_map(|one| after.clone().map(|other| alike(one, other)));
        again.fold(0.0, f64::max)
    }

    fn marked(&self, from_s: f64, to_s: f64) -> bool {
        self.marks.iter().any(|mark| (from_s..=to_s).contains(mark))
    }
}

/// Where an event lies with respect to true contacts, for fitting.
pub(crate) fn within(event: &DriveEvent, contact: &Span) -> bool {
    let middle_s = (event.span.start_s + event.span.end_s) / 2.0;
    (contact.start_s - 0.5..=contact.end_s + 0.5).contains(&middle_s)
}
