//! How often the same kind of thing is written down.

use jumpseat_core::journal::{Event, Text, TimeSource};

use super::DialSetting;

/// Positions come closer together than this only by the jitter of the line.
const POSITION_EVERY_NS: u64 = 700_000_000;
/// A dial that does not change is written again this often.
const DIAL_EVERY_NS: u64 = 60_000_000_000;
/// Length of "2026-05-14T15:02:11": a whole second.
const SECONDS: usize = 19;

/// What was written last.
#[derive(Debug, Clone, Default)]
pub(super) struct Limits {
    utc_second: Text,
    position_ns: Option<u64>,
    dial: Option<(DialSetting, u64)>,
}

impl Limits {
    /// One time and one position a second.
    pub(super) fn admits(&mut self, event: &Event, at_ns: u64) -> bool {
        match event {
            // The system clock keeps its own, slower time.
            Event::TimeFix {
                source: TimeSource::System,
                ..
            } => true,
            Event::TimeFix { utc, .. } => {
                let second = utc.get(..SECONDS).unwrap_or(utc);
                let new = second != self.utc_second.as_str();
                self.utc_second = jumpseat_core::journal::clip(second);
                new
            }
            Event::PositionFix { .. } => {
                let due = self
                    .position_ns
                    .is_none_or(|last| at_ns.saturating_sub(last) >= POSITION_EVERY_NS);
                if due {
                    self.position_ns = Some(at_ns);
                }
                due
            }
            _ => true,
        }
    }

    /// A dial on change, and once a minute.
    pub(super) fn admits_dial(&mut self, setting: &DialSetting, at_ns: u64) -> bool {
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
