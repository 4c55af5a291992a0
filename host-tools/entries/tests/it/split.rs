//! Drafts that are taken apart and put together.

use chrono::{DateTime, Utc};
use jumpseat_entries::resolve::TripInstants;
use jumpseat_entries::{join, split};
use jumpseat_values::{DialSetting, Estimate, Position};

use crate::samples::draft;

#[test]
fn what_is_taken_apart_and_joined_again_has_all_its_overs_and_values() {
    let whole = draft();
    for cut in 1..whole.overs.len() {
        let (first, second) = split(&whole, cut, None).unwrap();
        assert!(first.off_s <= second.on_s);
        assert_eq!(first.on, whole.on);
        let again = join(&second, &first);
        assert_eq!(again.overs, whole.overs);
        assert_eq!((again.on_s, again.off_s), (whole.on_s, whole.off_s));
        assert_eq!(again.call.value, whole.call.value);
        assert_eq!(again.marks_s, whole.marks_s);
    }
}

#[test]
fn a_value_stays_with_the_part_in_which_it_was_heard() {
    let whole = draft();
    let (first, second) = split(&whole, 1, None).unwrap();
    assert_eq!(first.call.value, None);
    assert_eq!(second.call.value, whole.call.value);
}

#[test]
fn no_part_is_without_an_over() {
    let whole = draft();
    for cut in [0, whole.overs.len(), 99] {
        assert_eq!(split(&whole, cut, None), None);
    }
}

/// A trip from one place to another, whose clock and receiver know so much.
struct Journey {
    uncertainty_m: f64,
    /// The second of the trip at which the border is crossed.
    border_s: f64,
}

impl TripInstants for Journey {
    fn time_at(&self, at_s: f64) -> Estimate<DateTime<Utc>> {
        // 2026-05-14 15:04:23.0004.
        let start = 1_778_771_063_000_400;
        Estimate {
            uncertainty: Some(0.250_4),
            ..Estimate::new(
                DateTime::from_timestamp_micros(start + (at_s * 1e6) as i64),
                Vec::new(),
            )
        }
    }

    fn place_at(&self, at_s: f64) -> Estimate<Position> {
        // Well inside Sweetwater County and Denver.
        let (lat, lon) = if at_s < self.border_s {
            (41.587, -109.203)
        } else {
            (39.739_000_04, -104.985)
        };
        Estimate {
            uncertainty: Some(self.uncertainty_m),
            ..Estimate::new(Position::new(lat, lon), Vec::new())
        }
    }

    fn dial_at(&self, _: f64) -> Estimate<DialSetting> {
        let mode = "FM".to_owned();
        Estimate::known(
            DialSetting {
                hz: 146_520_000,
                mode,
            },
            Vec::new(),
        )
    }
}

#[test]
fn the_second_part_is_resolved_like_any_draft() {
    let trip = Journey {
        uncertainty_m: 10.0,
        border_s: 7.0,
    };
    let (first, second) = split(&draft(), 1, Some(&trip)).unwrap();
    assert_eq!(first.off.value, second.on.value);
    let on = second.on.value.unwrap();
    assert_eq!(
        on.timestamp_subsec_nanos() % 1_000_000,
        0,
        "to the millisecond"
    );
    assert_eq!(second.on.uncertainty, Some(0.25));
    assert_eq!(second.lat.value, Some(39.739));
    assert_eq!(second.locator.value.as_deref(), Some("DM79mr"));
    assert_eq!(second.band.value.as_deref(), Some("2m"));
    assert_eq!(second.mode.value.as_deref(), Some("FM"));
}

#[test]
fn the_uncertainty_of_the_place_decides_how_long_a_locator_is() {
    for (uncertainty_m, locator) in [(2_500.0, "DM79mr"), (2_501.0, "DM79")] {
        let trip = Journey {
            uncertainty_m,
            border_s: 0.0,
        };
        let (_, second) = split(&draft(), 1, Some(&trip)).unwrap();
        assert_eq!(second.locator.value.as_deref(), Some(locator));
    }
}

#[test]
fn a_border_is_crossed_by_the_part_that_crossed_it() {
    for (border_s, first_crosses, second_crosses) in [
        (7.0, true, false),
        (15.0, false, true),
        (99.0, false, false),
    ] {
        let trip = Journey {
            uncertainty_m: 10.0,
            border_s,
        };
        let (first, second) = split(&draft(), 1, Some(&trip)).unwrap();
        assert_eq!(first.area_off.is_some(), first_crosses, "{border_s}");
        assert_eq!(second.area_off.is_some(), second_crosses, "{border_s}");
        for (part, crosses) in [(&first, first_crosses), (&second, second_crosses)] {
            let doubts = part.doubts.iter().map(ToString::to_string);
            let owed = doubts.filter(|doubt| doubt.contains("two entries may be owed"));
            assert_eq!(owed.count(), usize::from(crosses), "{border_s}");
        }
    }
}
