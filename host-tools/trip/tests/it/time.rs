//! Doubts about the time of a trip, and time that other trips lend.

use chrono::{DateTime, Utc};
use jumpseat_core::journal::{JournalEvent, TimeSource};
use jumpseat_trip::{TimeSettings, Timeline, Trip};
use jumpseat_values::{Estimate, TimeDoubt};

use crate::folder::{START, TestTripFolder, sentences};

/// Two minutes of fixes of this date, one a second from `from_s` on, told so many
/// seconds later than they are.
fn fixes(folder: &mut TestTripFolder, from_s: u32, date: &str, ahead_s: u32, valid: bool) {
    for second in from_s..from_s + 120 {
        let told = second + ahead_s;
        let utc = format!("{date}T15:{:02}:{:02}Z", told / 60, told % 60);
        folder.event(
            f64::from(second),
            JournalEvent::TimeFix {
                utc: utc.as_str().try_into().unwrap(),
                source: TimeSource::System,
                valid,
                within_ms: None,
            },
        );
    }
}

fn at_start(timeline: &Timeline) -> Estimate<DateTime<Utc>> {
    timeline.at_mono(START)
}

#[track_caller]
fn check(folder: &TestTripFolder, settings: &TimeSettings, value: Option<&str>, doubts: &[&str]) {
    let timeline = Timeline::with(&folder.open().unwrap(), &[], settings);
    let estimate = at_start(&timeline);
    let found = estimate.value.map(|utc| utc.to_rfc3339()[..19].to_owned());
    assert_eq!(found.as_deref(), value);
    assert_eq!(sentences(&estimate.doubts), doubts);
    let no_clock_pair = TimeDoubt::NoClockPair.into();
    assert!(!timeline.quality().doubts.contains(&no_clock_pair));
}

fn with_clock() -> TestTripFolder {
    let mut folder = TestTripFolder::new();
    folder.event(0.5, JournalEvent::Clock { sample: 8_000 });
    folder
}

#[test]
fn fixes_that_agree_leave_no_doubt() {
    let mut folder = with_clock();
    fixes(&mut folder, 0, "2026-05-14", 0, true);
    check(
        &folder,
        &TimeSettings::default(),
        Some("2026-05-14T15:00:00"),
        &[],
    );
}

#[test]
fn a_serious_rival_is_told() {
    let mut folder = with_clock();
    fixes(&mut folder, 0, "2026-05-14", 600, true);
    fixes(&mut folder, 120, "2026-05-14", 0, true);
    check(
        &folder,
        &TimeSettings::default(),
        // Of equal evidence the later one: receivers get righter with time.
        Some("2026-05-14T15:00:00"),
        &["120 time fixes say that it was 600.0 s later; they were not believed"],
    );
}

#[test]
fn a_week_number_that_wrapped_is_put_right_and_told() {
    let mut folder = with_clock();
    // 1024 weeks before 2026-05-14.
    fixes(&mut folder, 0, "2006-09-28", 0, true);
    check(
        &folder,
        &TimeSettings::default(),
        Some("2026-05-14T15:00:00"),
        &["the receiver's dates were 1024 weeks back, or a multiple, and were put right"],
    );
}

#[test]
fn a_date_after_now_is_impossible() {
    let mut folder = with_clock();
    fixes(&mut folder, 0, "2044-05-14", 0, true);
    let settings = TimeSettings {
        latest: Some("2030-01-01T00:00:00Z".parse().unwrap()),
        ..TimeSettings::default()
    };
    check(
        &folder,
        &settings,
        None,
        &["time unknown, relative only: 120 time fixes, all of an impossible date"],
    );
}

#[test]
fn a_date_that_the_receiver_itself_doubts_is_only_told() {
    let mut folder = with_clock();
    fixes(&mut folder, 0, "2026-05-14", 0, false);
    check(
        &folder,
        &TimeSettings::default(),
        None,
        &[
            "time unknown, relative only: the receiver never had a fix (it thought it was \
             2026-05-14T15:01:59Z)",
        ],
    );
}

#[test]
fn without_a_clock_pair_samples_are_placed_by_guess_and_it_is_told() {
    let mut folder = TestTripFolder::new();
    fixes(&mut folder, 0, "2026-05-14", 0, true);
    let timeline = Timeline::of(&folder.open().unwrap());
    let estimate = timeline.at_sample(16_000);
    assert!(estimate.uncertainty.unwrap() >= 0.5);
    assert_eq!(estimate.doubts[0], TimeDoubt::NoClockPair.into());
}

#[test]
fn a_trip_of_the_same_power_up_lends_its_fixes_and_another_does_not() {
    let mut known = with_clock();
    fixes(&mut known, 0, "2026-05-14", 0, true);
    let lender = known.open().unwrap();
    let open = |header: &str| -> Trip {
        let folder = with_clock();
        std::fs::write(folder.path.join("trip.json"), header).unwrap();
        folder.open().unwrap()
    };
    let header = crate::folder::HEADER.replace("\"trip\":17", "\"trip\":18");
    let settings = TimeSettings::default();
    let same = Timeline::with(&open(&header), &[&lender], &settings);
    assert!(at_start(&same).value.is_some());
    let other_board = header.replace("3fa2c1", "111111");
    let other = Timeline::with(&open(&other_board), &[&lender], &settings);
    assert_eq!(at_start(&other).value, None);
}
