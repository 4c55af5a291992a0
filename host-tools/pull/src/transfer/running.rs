//! Whether a trip is still being recorded while it is pulled.

use std::thread::sleep;
use std::time::{Duration, Instant, SystemTime};

use crate::error::PullError;
use crate::lease::BoardTime;
use crate::progress::PullProgress;
use crate::source::TripSource;
use crate::source_trip::{SourceTrip, is_journal};

/// A running recorder writes to its journal every ten seconds at least.
const JOURNAL_QUIET: Duration = Duration::from_secs(20);
/// How long the journal is watched for growth.
const GROWTH_WATCH: Duration = Duration::from_secs(11);
/// Time between two looks at the journal.
const GROWTH_POLL: Duration = Duration::from_millis(500);

/// Whether the trip may still be recorded: it is the board's last one, and its journal was
/// written a moment ago by the board's clock. A time far ahead, from a board without a
/// clock or in another time zone, does not count.
pub(crate) fn may_be_running<'a>(
    trip: &SourceTrip,
    all: impl IntoIterator<Item = &'a SourceTrip>,
    now: BoardTime,
) -> bool {
    let Some(now) = now else {
        return false;
    };
    let last = all
        .into_iter()
        .filter(|other| board(&other.name) == board(&trip.name))
        .all(|other| other.name <= trip.name);
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

/// Whether one of the trip's journals grows while it is watched. On a card in a reader
/// none does.
pub(super) fn is_growing(
    source: &mut dyn TripSource,
    trip: &SourceTrip,
    progress: &PullProgress<'_>,
) -> Result<bool, PullError> {
    let begun = Instant::now();
    loop {
        for journal in trip.files.iter().filter(|file| is_journal(&file.name)) {
            match source.metadata(&journal.path) {
                Ok(Some(now)) if now.bytes > journal.bytes => return Ok(true),
                Err(error) if error.is_source_gone() => return Err(error),
                _ => {}
            }
        }
        if begun.elapsed() >= GROWTH_WATCH {
            return Ok(false);
        }
        progress.report_if_due()?;
        sleep(GROWTH_POLL);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::identity::TripEvidence;
    use crate::source_trip::SourceFile;

    /// A trip whose journal was written so many seconds after (or before) the lease,
    /// and another with this name beside it.
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
        let all = ["trip-000017-3fa2c1", beside].map(trip);
        assert_eq!(may_be_running(&all[0], &all, Some(now)), expected);
        assert!(!may_be_running(&all[0], &all, None));
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
