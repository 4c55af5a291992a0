//! What can and what cannot be opened.

use std::fs;

use jumpseat_trip::{HealthVerdict, Timeline, Trip, TripError, health};

use crate::folder::{HEADER, TestTripFolder, damage_of, ramp};

#[test]
fn a_whole_trip_has_no_damage() {
    let trip = TestTripFolder::whole().open().unwrap();
    assert_eq!(damage_of(&trip), [""; 0]);
    assert_eq!(trip.id(), "trip-000017-3fa2c1");
    assert_eq!(trip.header().station.call.as_deref(), Some("W7QTM"));
    assert_eq!(trip.marks(), [8_200_000_000]);
    assert!(trip.ended_in_order());
}

/// Changes a whole trip's folder and expects an error that holds these words.
#[track_caller]
fn refused(change: impl Fn(&TestTripFolder), expected: &str) -> TripError {
    let folder = TestTripFolder::whole();
    fs::write(folder.journal(), folder.lines().concat()).unwrap();
    change(&folder);
    let error = Trip::open(&folder.path).expect_err("an error");
    let words = error.to_string();
    assert!(words.contains(expected), "{words}");
    assert!(words.contains("trip-000017-3fa2c1"), "{words}");
    error
}

#[test]
fn what_is_no_trip_is_refused_with_what_to_do() {
    refused(
        |folder| fs::remove_dir_all(&folder.path).unwrap(),
        "no such folder",
    );
    refused(
        |folder| {
            fs::remove_dir_all(&folder.path).unwrap();
            fs::write(&folder.path, "x").unwrap();
        },
        "this is a file",
    );
    refused(
        |folder| {
            fs::remove_dir_all(&folder.path).unwrap();
            fs::create_dir(&folder.path).unwrap();
        },
        "the folder is empty; pull the trip",
    );
    refused(
        |folder| {
            fs::remove_file(folder.journal()).unwrap();
            fs::remove_file(folder.path.join("trip.json")).unwrap();
            fs::remove_dir_all(folder.path.join("audio")).unwrap();
            fs::write(folder.path.join("notes.txt"), "no trip").unwrap();
        },
        "this is not a trip folder",
    );
    refused(
        |folder| {
            fs::remove_file(folder.path.join("trip.json")).unwrap();
            fs::remove_dir_all(folder.path.join("audio")).unwrap();
            fs::write(folder.journal(), "nothing\n").unwrap();
        },
        "neither trip.json nor any record",
    );
}

/// Leaves of a whole trip what the test leaves, and expects all of its sound, and
/// first of all this damage.
#[track_caller]
fn only_sound(leave: impl Fn(&TestTripFolder), expected: &str) {
    let folder = TestTripFolder::whole();
    fs::write(folder.journal(), folder.lines().concat()).unwrap();
    leave(&folder);
    let trip = Trip::open(&folder.path).unwrap();
    let damage = damage_of(&trip);
    assert!(damage.iter().any(|told| told == expected), "{damage:?}");
    let firsts: Vec<u64> = trip.segments().iter().map(|s| s.first_sample).collect();
    assert_eq!(firsts, [0, 32_000, 48_000]);
    assert_eq!(trip.read_segment(2).unwrap(), ramp(32_000, 16_000));
    let report = health(&trip, &Timeline::of(&trip));
    assert_eq!(report.verdict, HealthVerdict::Doubtful);
    assert_eq!((report.rx_s, report.tx_s), (3.0, 1.0));
    assert_eq!(report.time.start, None);
}

#[test]
fn sound_without_a_journal_is_opened_and_says_what_is_missing() {
    let missing = "journal.jsonl: no journal: time, place and marks are unknown";
    only_sound(|folder| fs::remove_file(folder.journal()).unwrap(), missing);
    // Nothing but the sound, in a folder with a trip's name.
    only_sound(
        |folder| {
            fs::remove_file(folder.journal()).unwrap();
            fs::remove_file(folder.path.join("trip.json")).unwrap();
        },
        missing,
    );
    only_sound(
        |folder| {
            fs::remove_file(folder.path.join("trip.json")).unwrap();
            fs::write(folder.journal(), "nothing\n").unwrap();
        },
        "journal.jsonl:1: the line does not end in a checksum; the line was skipped",
    );
}

#[test]
fn a_newer_format_is_called_newer() {
    let newer = r#"{"format":2,"trips":[17],"who":"knows"}"#;
    let error = refused(
        |folder| fs::write(folder.path.join("trip.json"), newer).unwrap(),
        "format 2 is newer than this program",
    );
    assert!(matches!(error, TripError::NewerFormat { found: 2, .. }));
}

#[test]
fn audio_that_format_1_does_not_have_is_refused() {
    let stereo = HEADER.replace(r#""channels":1"#, r#""channels":2"#);
    refused(
        |folder| {
            fs::write(folder.path.join("trip.json"), &stereo).unwrap();
            fs::remove_dir_all(folder.path.join("audio")).unwrap();
        },
        "2 channels is announced",
    );
}

/// Writes this as trip.json (or removes it) and expects the trip to open with that damage.
#[track_caller]
fn salvaged(header: Option<&str>, expected: &str) {
    let folder = TestTripFolder::whole();
    let path = folder.path.join("trip.json");
    match header {
        Some(text) => fs::write(&path, text).unwrap(),
        None => fs::remove_file(&path).unwrap(),
    }
    let trip = folder.open().unwrap();
    let damage = damage_of(&trip);
    assert!(
        damage.len() == 1 && damage[0].contains(expected),
        "{damage:?}"
    );
    assert_eq!(
        (trip.id(), trip.segments().len()),
        ("trip-000017-3fa2c1", 3)
    );
    let header = trip.header();
    assert_eq!((header.trip, header.boot.as_str()), (17, "9f2c41d0"));
    assert_eq!(header.software, "jumpseat-recorder 0.1.0");
    assert_eq!(header.station.call, None);
}

#[test]
fn a_damaged_header_costs_the_station_and_nothing_else() {
    salvaged(None, "the trip's header is missing");
    salvaged(Some(""), "cannot be read");
    salvaged(Some(&HEADER[..40]), "cannot be read");
    salvaged(
        Some(&HEADER.replace("\"trip\"", "\"tripp\"")),
        "unknown field `tripp`",
    );
    salvaged(Some(r#"{"format":0}"#), "there is no format 0");
}

#[test]
fn a_renamed_folder_keeps_its_trip() {
    let folder = TestTripFolder::whole();
    folder.open().unwrap();
    let other = folder.path.with_file_name("holiday");
    fs::rename(&folder.path, &other).unwrap();
    let trip = Trip::open(&other).unwrap();
    assert_eq!(trip.id(), "trip-000017-3fa2c1");
    assert_eq!(Trip::id_in(&other).as_deref(), Some(trip.id()));
    assert!(damage_of(&trip)[0].contains("on the board it was trip-000017-3fa2c1"));
}
