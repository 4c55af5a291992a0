use std::fs;

use super::*;
use crate::storage::{DiskStorage, SyncDurability};

const BOARD: &str = "3fa2c1";

/// Starts two trips on a card with these folders, this counter and these receipts.
#[track_caller]
fn check(
    folders: &[&str],
    counter: Option<&str>,
    receipts: &[&str],
    elsewhere: Option<u32>,
    expected: u32,
) {
    let card = tempfile::tempdir().unwrap();
    for folder in folders {
        fs::create_dir(card.path().join(folder)).unwrap();
    }
    if let Some(text) = counter {
        fs::write(card.path().join(COUNTER_FILE), text).unwrap();
    }
    if !receipts.is_empty() {
        let dir = card.path().join(RECEIPTS_FOLDER);
        fs::create_dir(&dir).unwrap();
        for name in receipts {
            fs::write(dir.join(name), "{}").unwrap();
        }
    }
    let mut disk = DiskStorage::new(SyncDurability::Synced);
    for expected in [expected, expected + 1] {
        let begun = make_trip_folder(&mut disk, card.path(), BOARD, elsewhere).unwrap();
        assert_eq!(begun.number, expected, "{:?}", begun.doubts);
        assert!(begun.dir.is_dir());
        let kept = fs::read_to_string(card.path().join(COUNTER_FILE)).unwrap();
        assert_eq!(kept, format!("{expected}\n"));
    }
}

#[test]
fn the_next_number_is_above_all_that_is_known() {
    check(&[], None, &[], None, 1);
    let two = ["trip-000016-3fa2c1", "trip-000007-3fa2c1"];
    check(&two, None, &[], None, 17);
    check(&two, Some("40\n"), &[], None, 41);
    check(&two, Some("garbage"), &[], None, 17);
    check(&two, Some("40\n"), &[], Some(50), 51);
    check(&two, Some("40\n"), &[], Some(7), 41);
    check(&two, None, &["trip-000021-3fa2c1.json"], None, 22);
    check(&[], None, &[".trip-000021-3fa2c1.json.part"], None, 22);
    // The pull account can write receipts of trips that never existed.
    check(&[], Some("5"), &["trip-000021-3fa2c1.json"], None, 6);
    check(&[], None, &["trip-000021-3fa2c1.json"], Some(5), 6);
    check(&[".going-trip-000030-3fa2c1"], None, &[], None, 31);
    check(
        &["trip-x-3fa2c1", "music", "trip-+00009-a"],
        Some("3"),
        &[],
        None,
        4,
    );
}

#[test]
fn a_number_that_cannot_be_true_is_passed_over() {
    check(&["trip-4294967295-3fa2c1"], None, &[], None, 1);
    check(
        &["trip-4294967295-3fa2c1", "trip-000003-x"],
        Some("5"),
        &[],
        None,
        6,
    );
    check(&[], Some("4294967295\n"), &[], None, 1);
    check(&[], Some("18446744073709551616"), &[], None, 1);
    check(&[], None, &["trip-4000000000-3fa2c1.json"], None, 1);
    check(&[], None, &[], Some(u32::MAX), 1);
    check(
        &[],
        None,
        &[],
        Some(MAX_COUNTED_NUMBER),
        MAX_COUNTED_NUMBER + 1,
    );
    // The card of a board with many trips, in a new board.
    check(&["trip-099999-3fa2c1"], None, &[], None, 100_000);
    check(&["trip-200001-3fa2c1"], None, &[], None, 1);
    check(&["trip-100001-3fa2c1"], Some("90000"), &[], None, 100_002);
}

#[test]
fn what_is_passed_over_is_told() {
    let card = tempfile::tempdir().unwrap();
    fs::create_dir(card.path().join("trip-4294967295-3fa2c1")).unwrap();
    fs::create_dir(card.path().join(COUNTER_FILE)).unwrap();
    let mut disk = DiskStorage::new(SyncDurability::Synced);
    let begun = make_trip_folder(&mut disk, card.path(), BOARD, None).unwrap();
    assert_eq!(begun.number, 1);
    let told = begun.doubts.join("\n");
    for expected in [
        "trip-4294967295-3fa2c1",
        "trip-counter is ignored",
        "replace",
    ] {
        assert!(told.contains(expected), "no {expected:?} in: {told}");
    }
}

#[test]
fn a_leftover_of_a_power_cut_does_no_harm_and_goes() {
    let card = tempfile::tempdir().unwrap();
    for part in ["trip-counter.part", "trip-counter-000009.part"] {
        fs::write(card.path().join(part), "9").unwrap();
    }
    let mut disk = DiskStorage::new(SyncDurability::Synced);
    let begun = make_trip_folder(&mut disk, card.path(), BOARD, None).unwrap();
    assert_eq!((begun.number, begun.doubts), (1, Vec::new()));
    let mut names = disk.names(card.path(), 10).unwrap();
    names.sort();
    assert_eq!(names, ["trip-000001-3fa2c1", COUNTER_FILE]);
}
