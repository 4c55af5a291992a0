//! Bad trips at home: `check` names the damage, `draft` goes on with the rest,
//! and the files stay as they are.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use std::time::{Duration, SystemTime};

use jumpseat_simulator::plan::DrivePlan;
use jumpseat_simulator::score::{ScoredDraft, ScoredEntryKind};
use jumpseat_simulator::{scenario, script, trip_recording};

use crate::outcome::{CommandReply, run, text};

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
    folder: tempfile::TempDir,
    trip: PathBuf,
}

impl DamagedTrip {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let whole = sound_trip();
        let trip = folder.path().join("card").join(whole.file_name().unwrap());
        fs::create_dir_all(trip.join("audio")).unwrap();
        for file in files(whole) {
            fs::copy(whole.join(&file), trip.join(&file)).unwrap();
        }
        Self { folder, trip }
    }

    fn home(&self, arguments: &[&str]) -> CommandReply {
        let home = self.folder.path().join("home");
        run("jumpseat", &[&["--home", text(&home)], arguments].concat())
    }

    /// Drafts the trip where it lies; gives the contacts of it.
    fn contacts(&self) -> usize {
        let json = self.folder.path().join("draft.json");
        let said = self.home(&["draft", text(&self.trip), "--json", text(&json)]);
        // 3 is "done, with doubts".
        assert!(
            matches!(said.code, Some(0 | 3)),
            "{}{}",
            said.out,
            said.error
        );
        let draft: ScoredDraft = serde_json::from_str(&fs::read_to_string(json).unwrap()).unwrap();
        draft
            .drafts
            .iter()
            .filter(|entry| entry.kind == ScoredEntryKind::Contact)
            .count()
    }
}

/// Every file of a trip, by its name from the trip's folder.
fn files(trip: &Path) -> Vec<PathBuf> {
    let mut files = vec![PathBuf::from("trip.json"), PathBuf::from("journal.jsonl")];
    let audio = fs::read_dir(trip.join("audio")).unwrap();
    files.extend(audio.map(|entry| Path::new("audio").join(entry.unwrap().file_name())));
    files.sort();
    files
}

fn contents(trip: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    files(trip)
        .into_iter()
        .map(|file| (file.clone(), fs::read(trip.join(&file)).unwrap()))
        .collect()
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
    let before = contents(&damaged.trip);
    damaged
        .home(&["check", text(&damaged.trip)])
        .assert_says(3, words);
    assert_eq!(damaged.contacts(), contacts);
    let card = damaged.folder.path().join("card");
    let pulled = damaged.home(&["pull", text(&card)]);
    assert!(
        matches!(pulled.code, Some(0 | 3)),
        "{}{}",
        pulled.out,
        pulled.error
    );
    let name = damaged.trip.file_name().unwrap();
    let copy = damaged.folder.path().join("home/trips").join(name);
    // Nothing was mended, dropped or changed, neither on the card nor in the copy.
    assert!(contents(&damaged.trip) == before);
    assert!(contents(&copy) == before);
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
    let empty = damaged.folder.path().join("trip-000009-3fa2c1");
    fs::create_dir(&empty).unwrap();
    for command in ["check", "draft"] {
        damaged
            .home(&[command, text(&empty)])
            .assert_says(1, &["trip-000009-3fa2c1", "empty", "pull"]);
    }
}

#[test]
fn a_trip_that_does_not_exist() {
    let damaged = DamagedTrip::new();
    for command in ["check", "draft"] {
        damaged
            .home(&[command, "/nonexistent/trip-000001-3fa2c1"])
            .assert_says(1, &["/nonexistent/trip-000001-3fa2c1"]);
    }
    damaged
        .home(&["pull", "/nonexistent"])
        .assert_says(1, &["/nonexistent"]);
}

#[test]
fn a_command_used_wrongly() {
    let damaged = DamagedTrip::new();
    damaged.home(&["drafd"]).assert_says(2, &["drafd"]);
    damaged.home(&["confirm", "1"]).assert_says(2, &["--call"]);
    damaged.home(&["export"]).assert_says(2, &["--format"]);
}

#[test]
fn a_contact_that_does_not_exist() {
    let damaged = DamagedTrip::new();
    damaged
        .home(&["confirm", "7", "--call", "KB0QSE"])
        .assert_says(1, &["7"]);
}
