//! The clocks of a trip as this computer can know them.

use chrono::{DateTime, TimeDelta, Utc};
use jumpseat_trip::{TimeSettings, Timeline, Trip};

/// When this program was released, in Unix time: 2026-11-25. A computer whose
/// clock is before that is wrong itself and says nothing about a receiver.
const RELEASED: i64 = 1_795_564_800;
/// How far this computer's own clock may be behind.
const SLACK: TimeDelta = TimeDelta::days(1);

/// The clocks of a trip. Trips of the same power-up beside it lend their time
/// fixes, and a date that is still to come is a receiver's mistake.
pub(crate) fn timeline(trip: &Trip) -> Timeline {
    let others = trip.same_power_up();
    let others: Vec<&Trip> = others.iter().collect();
    let settings = TimeSettings {
        latest: latest(Utc::now()),
        ..TimeSettings::default()
    };
    Timeline::with(trip, &others, &settings)
}

/// No trip is newer than this.
fn latest(now: DateTime<Utc>) -> Option<DateTime<Utc>> {
    let released = DateTime::from_timestamp(RELEASED, 0)?;
    now.max(released).checked_add_signed(SLACK)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(now: &str, expected: &str) {
        let latest = latest(now.parse().unwrap()).unwrap();
        assert_eq!(latest, expected.parse::<DateTime<Utc>>().unwrap());
    }

    #[test]
    fn no_trip_is_newer_than_tomorrow_and_a_dead_clock_is_not_believed() {
        check("2027-03-01T12:00:00Z", "2027-03-02T12:00:00Z");
        check("1970-01-01T00:00:10Z", "2026-11-26T00:00:00Z");
    }
}
