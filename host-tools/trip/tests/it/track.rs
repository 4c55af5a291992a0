//! The place at an instant.

use jumpseat_core::journal::JournalEvent;
use jumpseat_trip::Track;
use jumpseat_values::{Estimate, Position};

use crate::folder::{START, TestTripFolder, sentences};

fn track(fixes: &[(f64, f64, f64)]) -> Track {
    let mut folder = TestTripFolder::new();
    folder.event(0.0, JournalEvent::Mark {});
    for &(at_s, lat, lon) in fixes {
        folder.position(at_s, lat, lon, true);
    }
    Track::of(&folder.open().unwrap())
}

fn at(track: &Track, at_s: f64) -> Estimate<Position> {
    track.at_mono(START + (at_s * 1e9) as u64)
}

#[track_caller]
fn check(fixes: &[(f64, f64, f64)], at_s: f64, place: (f64, f64), doubts: &[&str]) {
    let estimate = at(&track(fixes), at_s);
    let value = estimate.value.unwrap();
    assert!(
        (value.lat() - place.0).abs() < 1e-9 && (value.lon() - place.1).abs() < 1e-9,
        "{value:?}"
    );
    assert_eq!(sentences(&estimate.doubts), doubts);
}

#[test]
fn between_two_fixes_it_is_on_the_line() {
    let fixes = [(10.0, 47.0, 8.0), (14.0, 47.0004, 8.0008)];
    check(&fixes, 10.0, (47.0, 8.0), &[]);
    check(&fixes, 11.0, (47.0001, 8.0002), &[]);
    check(&fixes, 14.0, (47.0004, 8.0008), &[]);
}

#[test]
fn in_a_tunnel_it_says_how_far_the_neighbours_are() {
    // One hundredth of a degree of latitude is 1.11 km.
    check(
        &[(10.0, 47.0, 8.0), (110.0, 47.01, 8.0)],
        60.0,
        (47.005, 8.0),
        &["no position fix for 100 s: the place is between two fixes 1.1 km apart"],
    );
}

#[test]
fn before_the_first_and_after_the_last_fix_it_is_that_one_with_a_doubt() {
    let fixes = [(130.0, 47.0, 8.0), (131.0, 47.0001, 8.0)];
    check(
        &fixes,
        10.0,
        (47.0, 8.0),
        &["the place is that of the first fix, 120 s later"],
    );
    check(&fixes, 128.0, (47.0, 8.0), &[]);
    check(
        &fixes,
        191.0,
        (47.0001, 8.0),
        &["the place is that of the last fix, 60 s before"],
    );
}

#[test]
fn across_the_date_line_it_goes_the_short_way() {
    let fixes = [(10.0, 0.0, 179.9999), (12.0, 0.0, -179.9999)];
    let half = at(&track(&fixes), 11.0).value.unwrap();
    assert!((half.lon().abs() - 180.0).abs() < 1e-9, "{half:?}");
    let later = at(&track(&fixes), 11.5).value.unwrap();
    assert!((later.lon() + 179.999_95).abs() < 1e-9, "{later:?}");
}

#[test]
fn a_jump_that_no_vehicle_makes_is_left_out() {
    let fixes = [(10.0, 47.0, 8.0), (11.0, 48.0, 8.0), (12.0, 47.0002, 8.0)];
    let track = track(&fixes);
    assert_eq!(track.fixes(), 2);
    assert!((at(&track, 11.0).value.unwrap().lat() - 47.0001).abs() < 1e-9);
}

#[test]
fn the_uncertainty_grows_away_from_a_fix() {
    let track = track(&[(10.0, 47.0, 8.0), (11.0, 47.0, 8.0)]);
    let near = at(&track, 10.5).uncertainty.unwrap();
    let far = at(&track, 100.0).uncertainty.unwrap();
    assert!(near < 20.0 && far > 1_000.0, "{near} {far}");
}

#[test]
fn without_a_valid_fix_there_is_no_place() {
    let mut folder = TestTripFolder::new();
    folder.position(1.0, 12.0, 34.0, false);
    let estimate = at(&Track::of(&folder.open().unwrap()), 1.0);
    assert_eq!(estimate.value, None);
    assert_eq!(
        sentences(&estimate.doubts),
        ["there is no position fix in this trip (1 that were not valid)"]
    );
}
