//! The lease: a file on the card that a pull touches, so that a parked board stays awake.

use std::time::SystemTime;

use crate::report::PullReport;
use crate::source::TripSource;

/// In the card's folder; the board stays awake for two minutes after each touch.
const LEASE_FILE: &str = "pull-lease";

/// The board's own time, which need not be right.
pub(crate) type BoardTime = Option<SystemTime>;

/// Keeps the board awake. Returns the time that the board gave the lease file, by which
/// its other files can be judged; without it every trip counts as ended, as on a card in
/// a reader.
pub(crate) fn hold_lease(
    source: &mut dyn TripSource,
    card: &str,
    report: &mut PullReport,
) -> BoardTime {
    let lease = format!("{card}{LEASE_FILE}");
    if let Err(error) = source.hold_lease(&lease) {
        report.notes.push(format!(
            "a parked board may fall asleep before the pull ends: {}",
            error.message()
        ));
        return None;
    }
    source.metadata(&lease).ok()??.modified
}
