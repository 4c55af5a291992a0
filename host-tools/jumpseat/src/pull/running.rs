//! Whether a trip is being recorded while it is pulled.

use std::time::{Duration, SystemTime};

use super::LEASE;
use super::find::{Found, SourceTrip, is_journal};
use super::source::Source;

/// The board's own time, which need not be right.
pub(super) type BoardTime = Option<SystemTime>;

/// A running recorder writes to its journal every ten seconds at least.
const QUIET: Duration = Duration::from_secs(20);

/// The time that the board gave the lease which was touched just now.
pub(super) fn board_time(source: &mut dyn Source, card: &str) -> BoardTime {
    // Without it every trip is taken for ended, as on a card in a reader.
    let entries = source.list(card.trim_end_matches('/')).ok()?;
    let lease = entries
        .into_iter()
        .find(|entry| entry.name.as_deref() == Some(LEASE));
    lease?.modified
}

/// Whether the recorder may be at the trip: it is the board's last one, and its
/// journal was written to a moment ago.
pub(super) fn may_be(trip: &SourceTrip, found: &Found, now: BoardTime) -> bool {
    let Some(now) = now else {
        return false;
    };
    let last = found
        .trips
        .iter()
        .filter(|other| board(&other.name) == board(&trip.name))
        .all(|other| other.name <= trip.name);
    let mut journals = trip.files.iter().filter(|file| is_journal(&file.name));
    last && journals.any(|journal| {
        let written = journal.modified;
        written.is_some_and(|written| written + QUIET >= now)
    })
}

fn board(name: &str) -> &str {
    name.rsplit('-').next().unwrap_or_default()
}
