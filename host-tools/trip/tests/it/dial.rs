//! The dial's setting at an instant.

use jumpseat_core::journal::{JournalEvent, RecorderFault};
use jumpseat_trip::DialHistory;

use crate::folder::{START, TestTripFolder, sentences};

/// Settings at 100 s (20 m) and 400 s (40 m), repeats at 160 s and 460 s, rig
/// control lost at 500 s.
fn dial() -> DialHistory {
    let mut folder = TestTripFolder::new();
    folder.dial(100.0, 14_250_000, "USB");
    folder.dial(160.0, 14_250_000, "USB");
    folder.dial(400.0, 7_150_000, "LSB");
    folder.dial(460.0, 7_150_000, "LSB");
    folder.event(
        500.0,
        JournalEvent::Fault {
            fault: RecorderFault::Dial,
            detail: "no answer".try_into().unwrap(),
        },
    );
    DialHistory::of(&folder.open().unwrap())
}

#[track_caller]
fn check(at_s: u64, hz: Option<u64>, doubts: &[&str]) {
    let estimate = dial().at_mono(START + at_s * 1_000_000_000);
    assert_eq!(estimate.value.map(|setting| setting.hz), hz);
    assert_eq!(sentences(&estimate.doubts), doubts);
}

#[test]
fn the_last_reading_is_in_force() {
    check(100, Some(14_250_000), &[]);
    check(339, Some(14_250_000), &[]);
    check(450, Some(7_150_000), &[]);
}

#[test]
fn an_old_reading_or_a_lost_rig_raises_a_doubt() {
    check(
        399,
        Some(14_250_000),
        &["the dial was last read 239 s before"],
    );
    check(
        510,
        Some(7_150_000),
        &["rig control was lost since the dial was last read"],
    );
}

#[test]
fn before_the_first_reading_it_is_that_one_for_a_while() {
    check(97, Some(14_250_000), &[]);
    check(
        30,
        Some(14_250_000),
        &["the dial was first read 70 s later"],
    );
    let mut folder = TestTripFolder::new();
    folder.dial(1_000.0, 14_250_000, "USB");
    let late = DialHistory::of(&folder.open().unwrap()).at_mono(START);
    assert_eq!(late.value, None);
    assert_eq!(
        sentences(&late.doubts),
        ["the dial was first read 1000 s later"]
    );
}

#[test]
fn repeats_are_no_changes() {
    let changes = dial().changes();
    let hz: Vec<u64> = changes.iter().map(|change| change.setting.hz).collect();
    assert_eq!(hz, [14_250_000, 7_150_000]);
    assert_eq!(changes[1].mono_ns, START + 400_000_000_000);
}

#[test]
fn without_rig_control_nothing_is_made_up() {
    let mut folder = TestTripFolder::new();
    folder.event(0.0, JournalEvent::Mark {});
    let estimate = DialHistory::of(&folder.open().unwrap()).at_mono(START);
    assert_eq!(estimate.value, None);
    assert_eq!(
        sentences(&estimate.doubts),
        ["rig control never reported the dial in this trip"]
    );
}
