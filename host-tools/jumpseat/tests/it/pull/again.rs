//! A trip that was pulled before, completely or in part.

use std::fs;

use super::JOURNAL;
use crate::case::{HomeCase, TRIP, names};

#[test]
fn the_same_again_changes_nothing() {
    let case = HomeCase::with_card();
    case.run(&["pull", "card"]).code(0).says(&[
        "17 files copied and verified",
        "Next: jumpseat --home home draft trip-000001-3fa2c1",
    ]);
    let sums = case.read(&format!("home/trips/{TRIP}/.sha256sums"));
    for again in [&["pull", "card"][..], &["pull", "card", "--verify"]] {
        case.run(again).code(0).says(&[
            "0 files copied",
            "17 files already in the library",
            "Nothing new.",
        ]);
    }
    assert_eq!(case.read(&format!("home/trips/{TRIP}/.sha256sums")), sums);
    assert_eq!(names(&case.at("home/trips")), [".lock", TRIP]);
}

#[test]
fn a_pull_that_was_cut_off_goes_on() {
    let case = HomeCase::with_card();
    // As an interrupted pull leaves it: a hidden folder with one whole file and
    // the first half of another under its temporary name.
    let part = format!("home/trips/.{TRIP}.part/audio");
    let audio = case.card().join("audio");
    let sound = names(&audio);
    let read = |name: &str| fs::read(audio.join(name)).unwrap();
    let second = read(&sound[1]);
    case.write(&format!("{part}/{}", sound[0]), read(&sound[0]));
    case.write(
        &format!("{part}/.{}.part", sound[1]),
        &second[..second.len() / 2],
    );
    case.run(&["pull", "card"]).code(0);
    assert_eq!(names(&case.pulled().join("audio")), sound);
    assert_eq!(
        fs::read(case.pulled().join("audio").join(&sound[1])).unwrap(),
        second
    );
    assert_eq!(names(&case.at("home/trips")), [".lock", TRIP]);
}

/// Before: pulled. Then the journal on the card becomes this; what a pull says,
/// and whose journal is in the library afterwards.
#[track_caller]
fn check(on_the_card: &[u8], code: i32, says: &[&str], taken: bool) {
    let case = HomeCase::with_card();
    case.run(&["pull", "card"]).code(0);
    let before = fs::read(case.pulled().join(JOURNAL)).unwrap();
    fs::write(case.card().join(JOURNAL), on_the_card).unwrap();
    case.run(&["pull", "card"]).code(code).says(says);
    let after = fs::read(case.pulled().join(JOURNAL)).unwrap();
    assert!(after == if taken { on_the_card } else { &before });
}

#[test]
fn a_file_that_changed_on_the_card() {
    let case = HomeCase::with_card();
    let whole = fs::read(case.card().join(JOURNAL)).unwrap();
    let mut grown = whole.clone();
    grown.extend_from_slice(&whole);
    let mut other = whole.clone();
    other[100] ^= 1;
    let kept = ["journal.jsonl differs from the copy in the library, which was kept"];
    check(&grown, 0, &["1 file copied and verified"], true);
    check(&whole[..500], 3, &kept, false);
    check(&other, 3, &kept, false);
}

#[test]
fn a_copy_that_went_bad_is_found_by_verify() {
    let case = HomeCase::with_card();
    case.run(&["pull", "card"]).code(0);
    let path = case.pulled().join(JOURNAL);
    let time = fs::metadata(&path).unwrap().modified().unwrap();
    let mut bytes = fs::read(&path).unwrap();
    bytes[100] ^= 1;
    fs::write(&path, &bytes).unwrap();
    fs::File::options()
        .write(true)
        .open(&path)
        .unwrap()
        .set_modified(time)
        .unwrap();
    case.run(&["pull", "card"]).code(0);
    case.run(&["pull", "card", "--verify"])
        .code(3)
        .says(&["has changed since it was copied", "pull again"]);
    assert_eq!(fs::read(&path).unwrap(), bytes);
}

/// Renames the trip's folder on the card or in the library, or doubles it; a pull
/// then finds nothing new, and one trip is in the library.
#[track_caller]
fn check_recognised(change: impl FnOnce(&HomeCase), says: &str) {
    let case = HomeCase::with_card();
    case.run(&["pull", "card"]).code(0);
    change(&case);
    case.run(&["pull", "card"])
        .code(0)
        .says(&["Nothing new.", says]);
    let mut trips = names(&case.at("home/trips"));
    trips.retain(|name| !name.starts_with('.'));
    assert_eq!(trips.len(), 1, "{trips:?}");
}

#[test]
fn a_folder_copied_twice_renamed_or_restored_is_recognised() {
    let rename = |from: std::path::PathBuf, to: std::path::PathBuf| fs::rename(from, to).unwrap();
    check_recognised(
        |case| {
            crate::case::copy_folder(&case.card(), &case.at("card/Copy of Tuesday")).unwrap();
        },
        "its folder on the card is called Copy of Tuesday",
    );
    check_recognised(
        |case| rename(case.card(), case.at("card/trip-old")),
        "its folder on the card is called trip-old",
    );
    check_recognised(
        |case| rename(case.pulled(), case.at("home/trips/Tuesday")),
        "",
    );
    // A backup of the library keeps bytes, not times; perhaps no hidden files.
    check_recognised(
        |case| {
            let away = case.at("away");
            crate::case::copy_folder(&case.pulled(), &away).unwrap();
            fs::remove_dir_all(case.pulled()).unwrap();
            rename(away, case.pulled());
        },
        "17 files already in the library",
    );
}

#[test]
fn a_backup_without_checksums_is_proven_anew() {
    let case = HomeCase::with_card();
    case.run(&["pull", "card"]).code(0);
    fs::remove_file(case.pulled().join(".sha256sums")).unwrap();
    case.run(&["pull", "card"])
        .code(0)
        .says(&["17 files copied and verified"]);
    case.run(&["pull", "card"]).code(0).says(&["Nothing new."]);
}
