//! A card that is nearly full: what is removed, what is never removed, and what a power cut
//! or an error in the middle does.

use std::path::{Path, PathBuf};

use jumpseat_memory_card::{CardContents, CutSurvival, FaultPlan, MemoryCard};
use jumpseat_recorder::card_layout::RECEIPTS_FOLDER;
use jumpseat_recorder::card_space::{free_space, remove_stray_receipts};
use jumpseat_recorder::storage::{CardStorage, StoredFile};
use jumpseat_tests::receipt::{receipt_file, receipt_text};

use crate::drive::{config, drive, finish, start};
use crate::remains::trips;

/// The receipt of a trip.
#[derive(Clone, Copy, PartialEq)]
enum ReceiptCase {
    None,
    Good,
    /// One file has another hash than the board's.
    WrongHash,
    /// One file is missing in it.
    Short,
    /// It names another trip.
    OtherTrip,
}

/// A card with five trips, the last of them being written, and these receipts.
fn card(receipts: [ReceiptCase; 5]) -> (MemoryCard, Vec<String>) {
    let mut card = MemoryCard::new();
    for _ in 0..5 {
        let mut engine = start(&card, &config()).unwrap();
        drive(&mut engine, &card, 60);
        finish(engine, 60).unwrap();
    }
    let shape = card.contents();
    let names: Vec<String> = trips(&shape)
        .iter()
        .map(|trip| trip.to_string_lossy().into_owned())
        .collect();
    card.make_dir(Path::new(RECEIPTS_FOLDER)).unwrap();
    card.sync_dir(Path::new("")).unwrap();
    for (name, receipt) in names.iter().zip(receipts) {
        if receipt != ReceiptCase::None {
            write(&mut card, name, &text(&shape, name, receipt));
        }
    }
    card.sync_dir(Path::new(RECEIPTS_FOLDER)).unwrap();
    (card.copy(), names)
}

fn write(card: &mut MemoryCard, name: &str, text: &str) {
    let path = Path::new(RECEIPTS_FOLDER).join(format!("{name}.json"));
    let mut file: Box<dyn StoredFile> = card.create(&path).unwrap();
    file.write_all(text.as_bytes()).unwrap();
    file.sync().unwrap();
}

fn text(shape: &CardContents, name: &str, receipt: ReceiptCase) -> String {
    let mut files: Vec<serde_json::Value> = shape
        .iter()
        .filter_map(|(path, bytes)| {
            let (path, bytes) = (path.strip_prefix(name).ok()?, bytes.as_ref()?);
            Some(receipt_file(path.to_str()?, bytes))
        })
        .collect();
    match receipt {
        ReceiptCase::WrongHash => files[0]["sha256"] = "00".repeat(32).into(),
        ReceiptCase::Short => drop(files.pop()),
        _ => {}
    }
    let trip = if receipt == ReceiptCase::OtherTrip {
        "trip-000009-3fa2c1"
    } else {
        name
    };
    receipt_text(trip, &files)
}

fn files_of(shape: &CardContents, name: &str) -> Vec<(PathBuf, Vec<u8>)> {
    shape
        .iter()
        .filter(|(path, _)| path.starts_with(name))
        .filter_map(|(path, bytes)| Some((path.clone(), bytes.clone()?)))
        .collect()
}

/// Asks for more space than there is; checks which trips are removed (by index).
#[track_caller]
fn check(receipts: [ReceiptCase; 5], expected: &[usize]) {
    let (mut card, names) = card(receipts);
    let before = card.contents();
    let removed = free_space(&mut card, Path::new(""), u64::MAX, &names[4]).unwrap();
    let expected: Vec<String> = expected.iter().map(|&n| names[n].clone()).collect();
    assert_eq!(removed, expected);
    let after = card.contents();
    for name in &names {
        let left = files_of(&after, name);
        if removed.contains(name) {
            assert!(left.is_empty(), "{name}");
        } else {
            assert_eq!(left, files_of(&before, name), "{name}");
        }
    }
}

use ReceiptCase::{Good, None as No, OtherTrip, Short, WrongHash};

#[test]
fn only_trips_whose_every_file_is_confirmed_by_its_hash_go() {
    check([No, No, No, No, No], &[]);
    check([No, Good, No, Good, No], &[1, 3]);
    check([WrongHash, Good, Short, OtherTrip, No], &[1]);
    // The trip that is being written stays, whatever a receipt says.
    check([No, No, No, No, Good], &[]);
}

#[test]
fn the_oldest_go_first_and_no_more_than_needed() {
    let (mut card, names) = card([Good, Good, Good, Good, No]);
    let used: u64 = card
        .contents()
        .values()
        .flatten()
        .map(|bytes| bytes.len() as u64)
        .sum();
    card.set_capacity(used);
    let removed = free_space(&mut card, Path::new(""), 30_000, &names[4]).unwrap();
    assert_eq!(removed, names[..1]);
    let more = free_space(&mut card, Path::new(""), 100_000, &names[4]).unwrap();
    assert_eq!(more, names[1..3]);
}

#[test]
fn a_power_cut_or_an_error_while_trips_go_touches_no_other_trip() {
    let receipts = [No, Good, WrongHash, Good, No];
    let (mut whole, names) = card(receipts);
    let before = whole.contents();
    let kept = [0, 2, 4].map(|n| (names[n].clone(), files_of(&before, &names[n])));
    let mut counted = whole.copy();
    free_space(&mut counted, Path::new(""), u64::MAX, &names[4]).unwrap();
    let operations = counted.operations();
    let judge = |mut card: MemoryCard, what: &str| {
        card.fail(None);
        free_space(&mut card, Path::new(""), u64::MAX, &names[4])
            .unwrap_or_else(|error| panic!("{what}: {error}"));
        let after = card.contents();
        for (name, files) in &kept {
            assert_eq!(files_of(&after, name), *files, "{what}: {name}");
        }
        for n in [1, 3] {
            assert!(files_of(&after, &names[n]).is_empty(), "{what}");
            assert!(
                !after
                    .keys()
                    .any(|path| path.to_string_lossy().contains("going")),
                "{what}"
            );
        }
    };
    let mut tried = 0;
    for at in 1..=operations {
        for seed in 0..40 {
            judge(
                counted.after_power_cut(at, CutSurvival::SomeOf(seed)),
                &format!("cut at {at}"),
            );
            tried += 1;
        }
        let failing = whole.copy();
        failing.fail(Some(FaultPlan { at, for_good: true }));
        let _stopped = free_space(&mut failing.clone(), Path::new(""), u64::MAX, &names[4]);
        judge(failing, &format!("error at {at}"));
    }
    free_space(&mut whole, Path::new(""), u64::MAX, &names[4]).unwrap();
    println!("figure: power cuts while confirmed trips go: {tried}, other trips touched: 0");
}

/// Receipts of no trip are removed, and those of the card's trips stay.
#[test]
fn a_power_cut_or_an_error_while_receipts_are_tidied_touches_no_trip_and_no_receipt_of_one() {
    let (mut whole, names) = card([Good, WrongHash, No, Good, No]);
    let clean = whole.contents();
    for foreign in ["trip-000077-3fa2c1", "of-mine", "trip-000078-3fa2c1"] {
        write(&mut whole, foreign, "{}");
    }
    whole.sync_dir(Path::new(RECEIPTS_FOLDER)).unwrap();
    let whole = whole.copy();
    let mut counted = whole.copy();
    assert_eq!(
        remove_stray_receipts(&mut counted, Path::new("")).unwrap(),
        3
    );
    assert_eq!(counted.contents(), clean);
    let operations = counted.operations();
    let mut tried = 0;
    for at in 1..=operations {
        let failing = whole.copy();
        let for_good = false;
        failing.fail(Some(FaultPlan { at, for_good }));
        remove_stray_receipts(&mut failing.clone(), Path::new("")).unwrap_err();
        for mut card in [
            counted.after_power_cut(at, CutSurvival::SomeOf(at)),
            failing,
        ] {
            remove_stray_receipts(&mut card, Path::new("")).unwrap();
            assert_eq!(card.contents(), clean, "at {at}");
            tried += 1;
        }
    }
    assert_eq!((tried, names.len()), (6, 5));
}
