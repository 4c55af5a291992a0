//! Links, pipes, devices and folders in place of the files of a trip: each is reported, none
//! is followed or waited for, and the rest is read.

use std::fs;
use std::os::unix::fs::symlink;
use std::path::Path;

use jumpseat_trip::{Timeline, Trip, health};
use rustix::fs::{CWD, Mode, mkfifoat};

use crate::folder::{TestTripFolder, damage_of};

/// What may stand in place of a file.
const KINDS: [&str; 6] = ["pipe", "link", "endless", "dangling", "loop", "folder"];

fn replace(path: &Path, kind: &str) {
    let elsewhere = path.ancestors().nth(2).unwrap().join("elsewhere");
    if path.is_dir() {
        // So that a link to it would be taken for the trip's own.
        fs::rename(path, &elsewhere).unwrap();
    } else {
        fs::copy(path, &elsewhere).unwrap();
        fs::remove_file(path).unwrap();
    }
    match kind {
        "pipe" => mkfifoat(CWD, path, Mode::RUSR | Mode::WUSR).unwrap(),
        "link" => symlink(elsewhere, path).unwrap(),
        "endless" => symlink("/dev/zero", path).unwrap(),
        "dangling" => symlink("nothing", path).unwrap(),
        "loop" => symlink(path, path).unwrap(),
        _ => fs::create_dir(path).unwrap(),
    }
}

/// Puts every kind in place of a file of a trip; one damage holds these words, and so
/// many seconds of sound are left.
#[track_caller]
fn check(name: &str, expected: &str, sound_s: f64) {
    for kind in KINDS {
        let folder = TestTripFolder::repeated();
        folder.open().unwrap();
        fs::write(folder.path.join("kept.json"), r#"{"format":1,"files":[]}"#).unwrap();
        if (name, kind) == ("audio", "folder") {
            continue;
        }
        replace(&folder.path.join(name), kind);
        let trip = Trip::open(&folder.path).unwrap();
        let told = damage_of(&trip);
        let whole = format!("{name}: {expected}");
        assert!(
            told.iter().any(|told| told.contains(&whole)),
            "{kind}: {told:?}"
        );
        let report = health(&trip, &Timeline::of(&trip));
        assert_eq!(report.rx_s + report.tx_s, sound_s, "{kind}");
        assert_eq!(trip.header().boot, "9f2c41d0", "{kind}");
    }
}

#[test]
fn whatever_is_no_ordinary_file_is_told_and_the_rest_is_read() {
    let not_read = "a link, pipe, device or folder is here";
    check(
        "trip.json",
        "the trip's header cannot be read (it is not",
        4.0,
    );
    check(
        "kept.json",
        "the list of packed and removed sound cannot be read",
        4.0,
    );
    check("audio", not_read, 0.0);
    // A folder there does not belong to the trip, as anywhere.
    check("audio/000002-tx.wav", "", 3.0);
}

#[test]
fn a_journal_that_is_none_is_told_with_what_is_missing() {
    for kind in KINDS {
        let folder = TestTripFolder::repeated();
        folder.open().unwrap();
        replace(&folder.journal(), kind);
        let trip = Trip::open(&folder.path).unwrap();
        let told = damage_of(&trip);
        assert!(
            told[0].starts_with("journal.jsonl: a link, pipe"),
            "{told:?}"
        );
        assert!(
            told[1].starts_with("journal.jsonl: no journal: time,"),
            "{told:?}"
        );
        assert_eq!(trip.segments().len(), 3);
    }
}
