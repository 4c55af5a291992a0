//! How often the same kind of thing is written down.

use jumpseat_core::journal::{JournalEvent, ShortText, TimeSource};

use super::RigReading;

/// Positions come closer together than this only by the jitter of the line.
const POSITION_EVERY_NS: u64 = 700_000_000;
/// A trip is young for its first ten minutes: then a receiver finds its fix, and
/// every second of it tells.
const YOUNG_NS: u64 = 600_000_000_000;
/// Afterwards a time each ten seconds and a place each eight say as much; a journal
/// of a day stays under 10 MiB.
const LATER_TIME_NS: u64 = 9_700_000_000;
const LATER_POSITION_NS: u64 = 7_700_000_000;
/// A dial that does not change is written again this often.
const DIAL_EVERY_NS: u64 = 60_000_000_000;
/// Length of "2026-05-14T15:02:11": a whole second.
const SECONDS: usize = 19;

/// What was written last.
#[derive(Debug, Clone, Default)]
pub(super) struct RecordRateLimits {
    began_ns: u64,
    utc_second: ShortText,
    time_ns: Option<u64>,
    /// The receiver had a fix when it was last written down.
    fixed: bool,
    position_ns: Option<u64>,
    dial: Option<(RigReading, u64)>,
}

impl RecordRateLimits {
    /// For a trip that begins at this time.
    pub(super) fn new(began_ns: u64) -> Self {
        Self {
            began_ns,
            ..Self::default()
        }
    }

    /// One time and one position a second while the trip is young, fewer later.
    /// A fix that is lost or found is written at once.
    pub(super) fn admits(&mut self, event: &JournalEvent, at_ns: u64) -> bool {
        let young = at_ns.saturating_sub(self.began_ns) < YOUNG_NS;
        match event {
            // The system clock keeps its own, slower time.
            JournalEvent::TimeFix {
                source: TimeSource::System,
                ..
            } => true,
            JournalEvent::TimeFix { utc, valid, .. } => {
                let second = utc.get(..SECONDS).unwrap_or(utc);
                let new = second != self.utc_second.as_str();
                self.utc_second = jumpseat_core::journal::clip(second);
                let changed = *valid != self.fixed;
                let wait_ns = if young { 0 } else { LATER_TIME_NS };
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
                    LATER_POSITION_NS
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

    /// A dial on change, and once a minute.
    pub(super) fn admits_dial(&mut self, setting: &RigReading, at_ns: u64) -> bool {
        let known = self.dial.as_ref().is_some_and(|(last, last_ns)| {
            last == setting && at_ns.saturating_sub(*last_ns) < DIAL_EVERY_NS
        });
        if !known {
            self.dial = Some((setting.clone(), at_ns));
        }
        !known
    }

    /// The dial is written again although it may be the same.
    pub(super) fn forget_dial(&mut self) {
        self.dial = None;
    }
}

fn has_passed(last_ns: Option<u64>, now_ns: u64, wait_ns: u64) -> bool {
    last_ns.is_none_or(|last_ns| now_ns.saturating_sub(last_ns) >= wait_ns)
}
