//! Whether a trip is being recorded while it is pulled.

use std::thread::sleep;
use std::time::{Duration, Instant, SystemTime};

use anyhow::Result;

use super::LEASE_FILE;
use super::find::{SourceTrip, is_journal};
use super::library::LibraryPlace;
use super::source::{TripSource, is_gone};
use super::watch::PullProgress;

/// The board's own time, which need not be right.
pub(super) type BoardTime = Option<SystemTime>;

/// A running recorder writes to its journal every ten seconds at least.
const JOURNAL_QUIET: Duration = Duration::from_secs(20);
/// So long it is watched whether it does.
const GROWTH_WATCH: Duration = Duration::from_secs(11);
const GROWTH_POLL: Duration = Duration::from_millis(500);

/// The time that the board gave the lease which was touched just now.
pub(super) fn board_time(source: &mut dyn TripSource, card: &str) -> BoardTime {
    // Without it every trip is taken for ended, as on a card in a reader.
    source
        .metadata(&format!("{card}{LEASE_FILE}"))
        .ok()??
        .modified
}

/// Whether the recorder may be at the trip: it is the board's last one, and its
/// journal was written to a moment ago. A time far ahead, as a board without a clock
/// writes it or another time zone makes it, is no such moment.
pub(super) fn may_be(
    trip: &SourceTrip,
    all: &[(SourceTrip, LibraryPlace)],
    now: BoardTime,
) -> bool {
    let Some(now) = now else {
        return false;
    };
    let last = all
        .iter()
        .filter(|(other, _)| board(&other.name) == board(&trip.name))
        .all(|(other, _)| other.name <= trip.name);
    let mut journals = trip.files.iter().filter(|file| is_journal(&file.name));
    last && journals.any(|journal| {
        let written = journal.modified;
        written.is_some_and(|written| is_near(written, now))
    })
}

fn board(name: &str) -> &str {
    name.rsplit('-').next().unwrap_or_default()
}

fn is_near(one: SystemTime, other: SystemTime) -> bool {
    let apart = one.duration_since(other);
    apart.unwrap_or_else(|before| before.duration()) <= JOURNAL_QUIET
}

/// Whether one of its journals grows while it is looked at: then somebody records, as
/// no card in a reader does.
pub(super) fn grows(
    source: &mut dyn TripSource,
    trip: &SourceTrip,
    watch: &PullProgress<'_>,
) -> Result<bool> {
    let begun = Instant::now();
    loop {
        for journal in trip.files.iter().filter(|file| is_journal(&file.name)) {
            match source.metadata(&journal.path) {
                Ok(Some(now)) if now.bytes > journal.bytes => return Ok(true),
                Err(error) if is_gone(&error) => return Err(error),
                _ => {}
            }
        }
        if begun.elapsed() >= GROWTH_WATCH {
            return Ok(false);
        }
        watch.tell()?;
        sleep(GROWTH_POLL);
    }
}

#[cfg(test)]
mod tests {
    use super::super::find::SourceFile;
    use super::super::likeness::TripEvidence;
    use super::*;

    /// A trip whose journal was written so many seconds after (or before) the lease,
    /// and another of this name beside it.
    #[track_caller]
    fn check(written_s: Option<i64>, beside: &str, expected: bool) {
        let now = SystemTime::UNIX_EPOCH + Duration::from_secs(1_000_000);
        let at = |seconds: i64| {
            let apart = Duration::from_secs(seconds.unsigned_abs());
            if seconds < 0 {
                now - apart
            } else {
                now + apart
            }
        };
        let trip = |name: &str| {
            let mut trip = SourceTrip::new(name.into(), name, TripEvidence::default());
            trip.files.push(SourceFile {
                path: "journal.jsonl".into(),
                name: "journal.jsonl".into(),
                bytes: 1,
                modified: written_s.map(at),
            });
            trip
        };
        let all = ["trip-000017-3fa2c1", beside].map(|name| (trip(name), LibraryPlace::default()));
        assert_eq!(may_be(&all[0].0, &all, Some(now)), expected);
        assert!(!may_be(&all[0].0, &all, None));
    }

    #[test]
    fn a_trip_may_be_running_when_its_journal_is_of_this_moment() {
        let alone = "trip-000016-3fa2c1";
        check(Some(0), alone, true);
        check(Some(-10), alone, true);
        check(Some(3), alone, true);
        check(Some(-21), alone, false);
        // From a board without a clock, or in the card's own time zone.
        check(Some(3_600), alone, false);
        check(Some(900_000_000), alone, false);
        check(None, alone, false);
        check(Some(0), "trip-000018-3fa2c1", false);
        check(Some(0), "trip-000018-5b77aa", true);
    }
}
