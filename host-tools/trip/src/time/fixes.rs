//! Time fixes as they stand in the journal, made comparable.

use chrono::{DateTime, TimeDelta, Utc};
use jumpseat_core::journal::{JournalEvent, JournalRecord, TimeSource};

use super::TimeSettings;
use super::leap::{TAI_SECOND_NS, tai_of_utc};

/// The week number of GPS wraps after 1024 weeks (IS-GPS-200, 20.3.3.3.1.1).
const GPS_WEEK_ROLLOVER: TimeDelta = TimeDelta::weeks(1024);

/// A position fix this near in time, nanoseconds, means that the receiver really
/// had a fix when it gave the time.
const CONFIRMED_WITHIN_NS: u64 = 5_000_000_000;

/// One statement of time by a source that called it valid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct TimeFix {
    /// When it arrived.
    pub mono_ns: u64,
    /// TAI minus monotonic time as it states them, nanoseconds.
    pub offset_ns: i128,
    /// The true offset lies between `low` and `high` seconds above that.
    pub low: f64,
    pub high: f64,
    pub source: TimeSource,
    /// A valid position came at about the same time.
    pub confirmed: bool,
    /// 1024 weeks or a multiple were added.
    pub rolled: bool,
}

/// All statements of time.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct TimeFixes {
    /// Ascending in time.
    pub fixes: Vec<TimeFix>,
    /// When a full second began, whichever it was; ascending.
    pub pulses: Vec<u64>,
    /// Valid by their word, but before any trip or after now, or no date at all.
    pub impossible: usize,
    /// Those that the receiver itself did not call valid.
    pub unconfirmed: usize,
    /// The last of them, for the doubt where nothing better is known.
    pub last_unconfirmed: Option<DateTime<Utc>>,
}

impl TimeFixes {
    pub(crate) fn of<'a>(
        records: impl Iterator<Item = &'a JournalRecord> + Clone,
        settings: &TimeSettings,
    ) -> Self {
        let mut positions: Vec<u64> = records
            .clone()
            .filter(|record| matches!(record.event, JournalEvent::PositionFix { valid: true, .. }))
            .map(|record| record.mono_ns)
            .collect();
        positions.sort_unstable();
        let mut all = Self::default();
        for record in records {
            if let JournalEvent::Pulse {} = record.event {
                all.pulses.push(record.mono_ns);
            }
            if let JournalEvent::TimeFix {
                utc,
                source,
                valid,
                within_ms,
            } = &record.event
            {
                let utc = utc.parse::<DateTime<Utc>>().ok();
                if *valid {
                    let confirmed = near(&positions, record.mono_ns);
                    match utc.and_then(|utc| place(utc, settings)) {
                        Some((utc, rolled)) => {
                            let (low, high) = settings.latency(*source, *within_ms);
                            all.fixes.push(TimeFix {
                                mono_ns: record.mono_ns,
                                offset_ns: tai_of_utc(utc) - i128::from(record.mono_ns),
                                low,
                                high,
                                source: *source,
                                confirmed,
                                rolled,
                            });
                        }
                        None => all.impossible += 1,
                    }
                } else {
                    all.unconfirmed += 1;
                    all.last_unconfirmed = utc.or(all.last_unconfirmed);
                }
            }
        }
        all.fixes.sort_by_key(|fix| fix.mono_ns);
        all.pulses.sort_unstable();
        all.pulses.dedup();
        all
    }
}

/// Brings a date that is back by 1024 weeks, or a multiple, into the time of trips.
fn place(utc: DateTime<Utc>, settings: &TimeSettings) -> Option<(DateTime<Utc>, bool)> {
    let behind = settings.earliest.signed_duration_since(utc);
    let mut placed = utc;
    if behind > TimeDelta::zero() {
        let weeks = GPS_WEEK_ROLLOVER.num_seconds();
        let turns = (behind.num_seconds() + weeks - 1).div_euclid(weeks).max(1);
        let turns = i32::try_from(turns).ok()?;
        placed = utc.checked_add_signed(GPS_WEEK_ROLLOVER.checked_mul(turns)?)?;
    }
    let possible = settings.latest.is_none_or(|latest| placed <= latest);
    possible.then_some((placed, placed != utc))
}

fn near(sorted: &[u64], mono_ns: u64) -> bool {
    let at =
        sorted.partition_point(|position| position.saturating_add(CONFIRMED_WITHIN_NS) < mono_ns);
    sorted
        .get(at)
        .is_some_and(|position| *position <= mono_ns.saturating_add(CONFIRMED_WITHIN_NS))
}

/// How much a stated offset is ahead of another, in seconds.
pub(crate) fn seconds_apart(ahead: i128, behind: i128) -> f64 {
    let apart = ahead - behind;
    (apart / TAI_SECOND_NS) as f64 + (apart % TAI_SECOND_NS) as f64 / TAI_SECOND_NS as f64
}
