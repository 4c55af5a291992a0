//! Check: finds every file of the library that changed since it was copied.

use std::fs::{self, File};
use std::time::{Duration, SystemTime};

use serde_json::{Value, json};

use crate::case::{HomeCase, TRIP};

/// A library with the demo's trip.
fn pulled() -> HomeCase {
    let case = HomeCase::with_card();
    case.run(&["pull", "card"]).code(0);
    case
}

/// Flips the last bit of a file, and leaves its length and time as they are.
fn flip(case: &HomeCase, name: &str) {
    let path = case.pulled().join(name);
    let modified = path.metadata().unwrap().modified().unwrap();
    let mut bytes = fs::read(&path).unwrap();
    *bytes.last_mut().unwrap() ^= 1;
    fs::write(&path, bytes).unwrap();
    let file = File::options().append(true).open(&path).unwrap();
    file.set_modified(modified).unwrap();
}

fn lines(text: &str) -> Vec<Value> {
    jumpseat_test_kit::json_lines(text).unwrap()
}

#[test]
fn a_library_that_is_right_is_proven_file_by_file() {
    let case = pulled();
    let files = fs::read_dir(case.pulled().join("audio")).unwrap().count() + 2;
    let proven = format!("{files} files are unchanged");
    case.run(&["check", TRIP])
        .code(3)
        .says(&[&format!("checksums {proven}")]);
    case.run(&["check", "--all"])
        .code(0)
        .says(&["1 trip,", &format!("{proven}.")]);
    let told = lines(&case.run(&["check", "--all", "--json"]).code(0).out);
    assert_eq!(told.len(), 2);
    assert_eq!(told[0]["event"], "trip");
    assert_eq!(told[0]["trip"], TRIP);
    assert_eq!(told[0]["proven"], files);
    assert_eq!(told[0]["wrong"], json!([]));
    assert_eq!(
        (&told[1]["event"], &told[1]["trips"]),
        (&json!("end"), &json!(1))
    );
    let turns: Value = serde_json::from_str(&case.read("home/verified.json")).unwrap();
    assert!(turns["verified"][TRIP].is_string(), "{turns}");
}

/// Spoils the trip in the library; what both forms of `check` say of which file.
#[track_caller]
fn check(spoil: impl FnOnce(&HomeCase), file: &str, what: &str) {
    let case = pulled();
    spoil(&case);
    let says = [
        format!("{TRIP}/{file}: {what}"),
        "Restore these files from a backup, or move home/trips/".to_owned(),
        "jumpseat --home home pull` the trip again from its card or board".to_owned(),
        "1 changed or missing".to_owned(),
    ];
    let says: Vec<&str> = says.iter().map(String::as_str).collect();
    case.run(&["check", TRIP]).code(3).says(&says);
    case.run(&["check", "--all"]).code(3).says(&says);
    let one = case.run(&["check", TRIP, "--json"]).code(3).json();
    let wrong = json!([{"file": file, "what": what}]);
    assert_eq!(one["checksums"]["wrong"], wrong);
    let told = lines(&case.run(&["check", "--all", "--json"]).code(3).out);
    assert_eq!((&told[0]["wrong"], &told[1]["wrong"]), (&wrong, &json!(1)));
}

#[test]
fn whatever_changed_or_went_away_is_named_with_what_to_do() {
    let changed = "it has changed since it was copied: its checksum differs";
    let sound = "audio/000005-rx.flac";
    check(|case| flip(case, sound), sound, changed);
    check(|case| flip(case, "trip.json"), "trip.json", changed);
    check(
        |case| fs::remove_file(case.pulled().join(sound)).unwrap(),
        sound,
        "it was copied, and is missing now",
    );
    check(
        |case| {
            let path = case.pulled().join(sound);
            fs::remove_file(&path).unwrap();
            fs::create_dir(&path).unwrap();
        },
        sound,
        "it cannot be read: it is not an ordinary file (a link, folder, pipe or device)",
    );
    check(
        |case| {
            let list = case.pulled().join(".sha256sums");
            let text = fs::read_to_string(&list).unwrap();
            fs::write(&list, format!("{}  ../../outside\n{text}", "0".repeat(64))).unwrap();
        },
        "../../outside",
        "its name in the list of checksums leads out of the trip; it was not read",
    );
}

#[test]
fn sound_that_no_pull_noted_is_held_to_its_own_checksum() {
    let case = HomeCase::with_card();
    let card = format!("card/{TRIP}");
    let whole = case.run(&["check", &card, "--json"]).code(3).json();
    let files = fs::read_dir(case.card().join("audio")).unwrap().count();
    assert_eq!(whole["checksums"]["proven"], files);
    // The checksum of the sound stands in the header of a FLAC file (RFC 9639, 8.2).
    let path = case.card().join("audio/000005-rx.flac");
    let mut bytes = fs::read(&path).unwrap();
    bytes[30] ^= 1;
    fs::write(&path, bytes).unwrap();
    case.run(&["check", &card]).code(3).says(&[
        "000005-rx.flac: ",
        "its sound is not what its checksum was made of",
    ]);
}

#[test]
fn now_and_then_a_pull_finds_a_file_that_went_bad() {
    let case = pulled();
    let sound = "audio/000005-rx.flac";
    flip(&case, sound);
    // It was proven just now.
    case.run(&["pull", "card"]).code(0);
    let list = File::options()
        .append(true)
        .open(case.pulled().join(".sha256sums"))
        .unwrap();
    let long_ago = SystemTime::now() - Duration::from_secs(31 * 86_400);
    list.set_modified(long_ago).unwrap();
    let says = [sound, "its checksum differs", "Restore these files"];
    case.run(&["pull", "card"]).code(3).says(&says);
    // And again, until it is mended.
    case.run(&["pull", "card"]).code(3).says(&says);
    flip(&case, sound);
    case.run(&["pull", "card"]).code(0);
    // Now it has a month again.
    flip(&case, sound);
    case.run(&["pull", "card"]).code(0);
}

#[test]
fn a_check_is_of_one_trip_or_of_all() {
    let case = HomeCase::empty();
    for wrong in [&["check"][..], &["check", "--all", TRIP]] {
        case.run(wrong).code(2).says(&["--all"]);
    }
    case.run(&["check", "--all"]).code(0).says(&["0 trips"]);
    assert!(!case.home().exists());
}
