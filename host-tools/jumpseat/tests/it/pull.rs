//! Pull: what is promised about every file.

use std::fs;

use serde_json::Value;

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

#[test]
fn the_receipt_lists_every_file_of_the_trip_by_its_hash() {
    let case = Case::with_card();
    case.run(&["pull", "card"]).code(0);
    assert!(case.at("card/pull-lease").exists());
    let path = format!("card/receipts/{TRIP}.json");
    let receipt: Value = serde_json::from_str(&case.read(&path)).unwrap();
    assert_eq!(
        (&receipt["format"], &receipt["trip"]),
        (&1.into(), &TRIP.into())
    );
    let listed: Vec<String> = receipt["files"]
        .as_array()
        .unwrap()
        .iter()
        .map(|file| {
            let path = file["path"].as_str().unwrap();
            let bytes = fs::read(case.card().join(path)).unwrap();
            assert_eq!(file["bytes"], bytes.len());
            format!("{}  {path}", file["sha256"].as_str().unwrap())
        })
        .collect();
    let mut sorted = listed.clone();
    sorted.sort_by_key(|line| line[64..].to_owned());
    let sums = case.read(&format!("home/trips/{TRIP}/.sha256sums"));
    assert_eq!(sorted, sums.lines().collect::<Vec<_>>());
    assert_eq!(listed.len(), 17);

    // The same again writes nothing into the card.
    let card = |name: &str| {
        let data = fs::metadata(case.at("card").join(name)).unwrap();
        data.modified().unwrap()
    };
    let receipt = format!("receipts/{TRIP}.json");
    let before = (card(&receipt), card("pull-lease"));
    case.run(&["pull", "card"]).code(0);
    assert_eq!((card(&receipt), card("pull-lease")), before);
}

#[test]
fn no_receipt_for_what_differs_nor_outside_a_card() {
    let case = Case::with_card();
    case.run(&["pull", &format!("card/{TRIP}")]).code(0);
    assert_eq!(names(&case.at("card")), [TRIP]);
    let mut bytes = fs::read(case.card().join(JOURNAL)).unwrap();
    bytes[100] ^= 1;
    fs::write(case.card().join(JOURNAL), bytes).unwrap();
    case.run(&["pull", "card"]).code(3);
    assert!(!case.at("card/receipts").exists());
}

#[test]
fn a_source_with_too_much_is_refused() {
    let case = Case::with_card();
    let huge = fs::File::create(case.card().join("audio/000099-rx.wav")).unwrap();
    // Sparse: a length that takes no room.
    huge.set_len(2_000_000_000).unwrap();
    case.run(&["pull", "card", "--at-most-gb", "1"])
        .code(1)
        .says(&["more than a pull may bring", "--at-most-gb 3"]);
    assert!(!case.pulled().exists());
    huge.set_len((1 << 32) + 1).unwrap();
    case.run(&["pull", "card"])
        .code(3)
        .says(&["longer than any recording; it was passed over"]);
    assert!(!case.pulled().join("audio/000099-rx.wav").exists());
}

/// What the hostile card holds beside the trip's own files; nothing of it comes.
#[cfg(unix)]
#[track_caller]
fn check_hostile(says: &str, make: impl FnOnce(&std::path::Path)) {
    let case = Case::with_card();
    case.write("secret", "of this computer");
    make(&case.card());
    case.run(&["pull", "card"]).code(3).says(&[says]);
    let mut all = names(&case.pulled());
    all.retain(|name| !name.starts_with('.'));
    assert_eq!(all, ["audio", JOURNAL, "trip.json"]);
    assert!(!case.at("card/receipts").exists());
}

#[cfg(unix)]
#[test]
fn what_is_no_plain_file_of_a_trip_stays_outside() {
    use std::os::unix::fs::symlink;
    use std::os::unix::net::UnixListener;
    let odd = "cannot be a file's name here; it was passed over";
    let neither = "neither file nor folder; it was passed over";
    check_hostile(neither, |trip| {
        symlink("../../secret", trip.join("x")).unwrap()
    });
    check_hostile(neither, |trip| symlink("/etc", trip.join("x")).unwrap());
    check_hostile(neither, |trip| {
        UnixListener::bind(trip.join("x")).unwrap();
    });
    check_hostile(odd, |trip| fs::write(trip.join("..\\up"), "").unwrap());
    check_hostile(odd, |trip| fs::write(trip.join("\u{1b}[2J"), "").unwrap());
    check_hostile(odd, |trip| {
        fs::write(trip.join("n".repeat(200)), "").unwrap()
    });
    check_hostile("a folder too deep", |trip| {
        fs::create_dir_all(trip.join("audio/b/c/d/e/f")).unwrap();
    });
}

#[test]
fn an_address_that_is_none_starts_nothing() {
    let case = Case::empty();
    case.run(&["pull", "ssh://-oProxyCommand=touch%20x"])
        .code(1)
        .says(&["is no address of a board"]);
}
