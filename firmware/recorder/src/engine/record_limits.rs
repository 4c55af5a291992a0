//! Limits how often records of the same kind are written.

use jumpseat_core::journal::{JournalEvent, ShortText, TimeSource};

use crate::rig_reading::RigReading;

/// Positions follow each other faster than this only by the jitter of the line.
const POSITION_EVERY_NS: u64 = 700_000_000;
/// A trip is young for its first ten minutes: the receiver is finding its fix, and every
/// second counts.
const YOUNG_TRIP_NS: u64 = 600_000_000_000;
/// Later, a time every ten seconds and a position every eight are enough, and the journal
/// of a day stays under 10 MiB.
const LATER_TIME_EVERY_NS: u64 = 9_700_000_000;
const LATER_POSITION_EVERY_NS: u64 = 7_700_000_000;
/// A dial that does not change is recorded again this often.
const DIAL_REPEAT_NS: u64 = 60_000_000_000;
/// Length of "2026-05-14T15:02:11": a whole second.
const UTC_SECOND_LENGTH: usize = 19;

/// What was recorded last.
#[derive(Debug, Clone, Default)]
pub(super) struct RecordRateLimits {
    began_ns: u64,
    utc_second: ShortText,
    time_ns: Option<u64>,
    /// The receiver had a fix when its time was last recorded.
    fixed: bool,
    position_ns: Option<u64>,
    dial: Option<(RigReading, u64)>,
}

impl RecordRateLimits {
    /// Limits for a trip that begins at this time.
    pub(super) fn new(began_ns: u64) -> Self {
        Self {
            began_ns,
            ..Self::default()
        }
    }

    /// Whether to record the event: one time and one position per second while the trip is
    /// young, fewer later. A fix that is lost or found is recorded at once.
    pub(super) fn admits(&mut self, event: &JournalEvent, at_ns: u64) -> bool {
        let young = at_ns.saturating_sub(self.began_ns) < YOUNG_TRIP_NS;
        match event {
            // The system clock is read at an interval of its own.
            JournalEvent::TimeFix {
                source: TimeSource::System,
                ..
            } => true,
            JournalEvent::TimeFix { utc, valid, .. } => {
                let second = utc.get(..UTC_SECOND_LENGTH).unwrap_or(utc);
                let new = second != self.utc_second.as_str();
                self.utc_second = jumpseat_core::journal::clip(second);
                let changed = *valid != self.fixed;
                let wait_ns = if young { 0 } else { LATER_TIME_EVERY_NS };
                let due = new && (changed || has_passed(self.time_ns, at_ns, wait_ns));
                if due {
                    self.time_ns = Some(at_ns);
                    self.fixed = *valid;
                }
                due
            }
            JournalEvent::PositionFix { .. } => {
                let wait_ns = if young {
                    POSITION_EVERY_NS
                } else {
                    LATER_POSITION_EVERY_NS
                };
                let due = has_passed(self.position_ns, at_ns, wait_ns);
                if due {
                    self.position_ns = Some(at_ns);
                }
                due
            }
            _ => true,
        }
    }

    /// Whether to record the reading: on change, and once a minute.
    pub(super) fn admits_dial(&mut self, setting: &RigReading, at_ns: u64) -> bool {
        let known = self.dial.as_ref().is_some_and(|(last, last_ns)| {
            last == setting && at_ns.saturating_sub(*last_ns) < DIAL_REPEAT_NS
        });
        if !known {
            self.dial = Some((setting.clone(), at_ns));
        }
        !known
    }

    /// Makes the next reading count as a change.
    pub(super) fn forget_dial(&mut self) {
        self.dial = None;
    }
}

fn has_passed(last_ns: Option<u64>, now_ns: u64, wait_ns: u64) -> bool {
    last_ns.is_none_or(|last_ns| now_ns.saturating_sub(last_ns) >= wait_ns)
}
