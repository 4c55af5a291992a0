//! Bad trips at home: `check` names the damage, `draft` goes on with the rest,
//! and the files stay as they are.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use std::time::{Duration, SystemTime};

use jumpseat_simulator::plan::DrivePlan;
use jumpseat_simulator::score::{ScoredDraft, ScoredEntryKind};
use jumpseat_simulator::{scenario, script, trip_recording};
use jumpseat_test_kit::{TestHome, contents, copy_folder, path_text};

/// A sound trip of two contacts, made once for all tests.
fn sound_trip() -> &'static Path {
    static TRIP: OnceLock<(tempfile::TempDir, PathBuf)> = OnceLock::new();
    &TRIP
        .get_or_init(|| {
            let folder = tempfile::tempdir().unwrap();
            let plan = DrivePlan::lay_out(scenario::live(6), &mut |_| ()).unwrap();
            let script_folder = folder.path().join("script");
            script::write(&plan, &script_folder, &mut |_| ()).unwrap();
            let card = folder.path().join("card");
            let trip = trip_recording::record(&script_folder, &plan.scenario.station, &card)
                .unwrap()
                .trip;
            (folder, trip)
        })
        .1
}

/// A copy of the trip on a card of its own.
struct DamagedTrip {
    home: TestHome,
    trip: PathBuf,
}

impl DamagedTrip {
    fn new() -> Self {
        let home = TestHome::empty().unwrap();
        let whole = sound_trip();
        let trip = home.at("card").join(whole.file_name().unwrap());
        copy_folder(whole, &trip).unwrap();
        Self { home, trip }
    }

    /// Drafts the trip where it lies; gives the contacts of it.
    fn contacts(&self) -> usize {
        let arguments = ["draft", path_text(&self.trip), "--json", "draft.json"];
        self.home.run(&arguments).done();
        let json = fs::read_to_string(self.home.at("draft.json")).unwrap();
        let draft: ScoredDraft = serde_json::from_str(&json).unwrap();
        draft
            .drafts
            .iter()
            .filter(|entry| entry.kind == ScoredEntryKind::Contact)
            .count()
    }
}

/// Damages a trip, then checks, drafts and pulls it.
#[track_caller]
fn check(damage: impl FnOnce(&Path), words: &[&str], contacts: usize) {
    let damaged = DamagedTrip::new();
    damage(&damaged.trip);
    // The card lay in the car since: nobody is recording on it.
    let journal = damaged.trip.join("journal.jsonl");
    if let Ok(file) = fs::File::options().write(true).open(&journal) {
        file.set_modified(SystemTime::now() - Duration::from_secs(3600))
            .unwrap();
    }
    let before = contents(&damaged.trip).unwrap();
    let checked = damaged.home.run(&["check", path_text(&damaged.trip)]);
    checked.ended(3).says(words);
    assert_eq!(damaged.contacts(), contacts);
    damaged.home.run(&["pull", "card"]).done();
    let name = damaged.trip.file_name().unwrap();
    let copy = damaged.home.path().join("trips").join(name);
    // Nothing was mended, dropped or changed, neither on the card nor in the copy.
    assert!(contents(&damaged.trip).unwrap() == before);
    let mut copied = contents(&copy).unwrap();
    // Pull writes its checksums beside the files of the trip.
    copied.retain(|name, _| name.starts_with("audio") || before.contains_key(name));
    assert!(copied == before);
}

#[test]
fn a_sound_trip_has_two_contacts() {
    assert_eq!(DamagedTrip::new().contacts(), 2);
}

#[test]
fn a_journal_cut_in_the_middle_of_a_line() {
    let cut = |trip: &Path| {
        let path = trip.join("journal.jsonl");
        let mut journal = fs::read(&path).unwrap();
        let last = journal
            .windows(8)
            .rposition(|window| window == b"\"mark\":{")
            .unwrap();
        journal.truncate(last + 4);
        fs::write(&path, journal).unwrap();
    };
    // The cut is in the second mark, after both contacts.
    check(cut, &["journal.jsonl"], 2);
}

#[test]
fn a_journal_with_a_flipped_bit() {
    let flip = |trip: &Path| {
        let path = trip.join("journal.jsonl");
        let mut journal = fs::read(&path).unwrap();
        let middle = journal.len() / 2;
        journal[middle] ^= 4;
        fs::write(&path, journal).unwrap();
    };
    check(flip, &["journal.jsonl"], 2);
}

#[test]
fn a_wav_file_that_is_not_one() {
    let spoil =
        |trip: &Path| fs::write(trip.join("audio/000002-tx.wav"), "a shopping list").unwrap();
    check(spoil, &["000002-tx.wav"], 2);
}

#[test]
fn a_sound_file_that_is_missing() {
    let remove = |trip: &Path| fs::remove_file(trip.join("audio/000002-tx.wav")).unwrap();
    check(remove, &["000002-tx.wav"], 2);
}

#[test]
fn a_header_that_cannot_be_read() {
    let spoil = |trip: &Path| fs::write(trip.join("trip.json"), "{").unwrap();
    check(spoil, &["trip.json"], 2);
}

#[test]
fn an_empty_trip_folder() {
    let damaged = DamagedTrip::new();
    let empty = damaged.home.at("trip-000009-3fa2c1");
    fs::create_dir(&empty).unwrap();
    for command in ["check", "draft"] {
        damaged
            .home
            .run(&[command, path_text(&empty)])
            .ended(1)
            .says(&["trip-000009-3fa2c1", "empty", "pull"]);
    }
}

#[test]
fn a_trip_that_does_not_exist() {
    let damaged = DamagedTrip::new();
    for command in ["check", "draft"] {
        damaged
            .home
            .run(&[command, "/nonexistent/trip-000001-3fa2c1"])
            .ended(1)
            .says(&["/nonexistent/trip-000001-3fa2c1"]);
    }
    damaged
        .home
        .run(&["pull", "/nonexistent"])
        .ended(1)
        .says(&["/nonexistent"]);
}

#[test]
fn a_command_used_wrongly() {
    let damaged = DamagedTrip::new();
    damaged.home.run(&["drafd"]).ended(2).says(&["drafd"]);
    damaged
        .home
        .run(&["confirm", "1"])
        .ended(2)
        .says(&["--call"]);
    damaged.home.run(&["export"]).ended(2).says(&["--format"]);
}

#[test]
fn a_contact_that_does_not_exist() {
    let damaged = DamagedTrip::new();
    damaged
        .home
        .run(&["confirm", "7", "--call", "KB0QSE"])
        .ended(1)
        .says(&["7"]);
}
