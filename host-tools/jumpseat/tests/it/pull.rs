//! Pull: what is promised about every file.

use std::fs;

use crate::case::{Case, TRIP, names};

const JOURNAL: &str = "journal.jsonl";

#[test]
fn the_same_again_changes_nothing() {
    let case = Case::with_card();
    case.run(&["pull", "card"]).code(0).says(&[
        "17 files copied and verified",
        "Next: jumpseat --home home draft trip-000001-3fa2c1",
    ]);
    let sums = case.read(&format!("home/trips/{TRIP}/.sha256sums"));
    for again in [&["pull", "card"][..], &["pull", "card", "--verify"]] {
        case.run(again)
            .code(0)
            .says(&["0 files copied", "17 files here already", "Nothing new."]);
    }
    assert_eq!(case.read(&format!("home/trips/{TRIP}/.sha256sums")), sums);
    assert_eq!(names(&case.at("home/trips")), [".lock", TRIP]);
}

#[test]
fn a_pull_that_was_cut_off_goes_on() {
    let case = Case::with_card();
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
    let case = Case::with_card();
    case.run(&["pull", "card"]).code(0);
    let before = fs::read(case.pulled().join(JOURNAL)).unwrap();
    fs::write(case.card().join(JOURNAL), on_the_card).unwrap();
    case.run(&["pull", "card"]).code(code).says(says);
    let after = fs::read(case.pulled().join(JOURNAL)).unwrap();
    assert!(after == if taken { on_the_card } else { &before });
}

#[test]
fn a_file_that_changed_on_the_card() {
    let case = Case::with_card();
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
    let case = Case::with_card();
    case.run(&["pull", "card"]).code(0);
    let path = case.pulled().join(JOURNAL);
    let time = fs::metadata(&path).unwrap().modified().unwrap();
    let mut bytes = fs::read(&path).unwrap();
    bytes[100] ^= 1;
    fs::write(&path, bytes).unwrap();
    fs::File::options()
        .write(true)
        .open(&path)
        .unwrap()
        .set_modified(time)
        .unwrap();
    case.run(&["pull", "card"]).code(0);
    case.run(&["pull", "card", "--verify"])
        .code(1)
        .says(&["is not what was copied", "pull again"]);
}

#[test]
fn a_single_trip_and_a_card_with_a_trips_folder() {
    let case = Case::with_card();
    case.run(&["pull", &format!("card/{TRIP}")]).code(0);
    fs::create_dir(case.at("board")).unwrap();
    fs::rename(case.at("card"), case.at("board/trips")).unwrap();
    case.run(&["pull", "board"]).code(0).says(&["Nothing new."]);
}
