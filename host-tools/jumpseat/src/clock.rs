//! The time line of a trip, with what this computer's own clock can add.

use chrono::{DateTime, TimeDelta, Utc};
use jumpseat_trip::{TimeSettings, Timeline, Trip};

/// When this program was released, in Unix time: 2026-11-25. If a
/// computer's clock is before that, it is wrong and cannot be compared with a receiver.
const RELEASED: i64 = 1_795_564_800;
/// How far this computer's own clock may be behind.
const SLACK: TimeDelta = TimeDelta::days(1);

/// The time line of a trip. It uses the time fixes of trips of the same power-up too, and
/// takes a date in the future for a mistake of the receiver.
pub(crate) fn timeline(trip: &Trip) -> Timeline {
    let others = trip.same_power_up();
    let others: Vec<&Trip> = others.iter().collect();
    let settings = TimeSettings {
        latest: latest(Utc::now()),
        ..TimeSettings::default()
    };
    Timeline::with(trip, &others, &settings)
}

/// The latest time that a trip can have.
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
