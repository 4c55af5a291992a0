//! Trips with one name: a second, a new or a cloned card starts with the names of the first
//! again. The content of the trips distinguishes them, not their names.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use jumpseat_core::journal::{BootId, JournalRecord, encode, verify};
use serde_json::Value;

use super::JOURNAL;
use crate::case::{HomeCase, TRIP, copy_folder, names};

/// Another power-up's trip of the same name.
const BOOT: &str = "9f2c41d0";

/// The records of a journal, changed one by one.
fn rewrite(trip: &Path, change: impl Fn(&mut JournalRecord)) {
    let path = trip.join(JOURNAL);
    let text = fs::read(&path).unwrap();
    let lines = text.split_inclusive(|&byte| byte == b'\n').map(|line| {
        let mut record: JournalRecord = serde_json::from_slice(verify(line).unwrap()).unwrap();
        change(&mut record);
        encode(&record).unwrap().to_vec()
    });
    fs::write(&path, lines.collect::<Vec<_>>().concat()).unwrap();
}

/// Changes the power-up in trip.json.
fn rename_boot(trip: &Path, boot: &str) {
    let path = trip.join("trip.json");
    let mut header: Value = serde_json::from_slice(&fs::read(&path).unwrap()).unwrap();
    header["boot"] = boot.into();
    fs::write(&path, serde_json::to_vec(&header).unwrap()).unwrap();
}

/// Makes another drive of a copy: another power-up, and every file is longer.
fn another_drive(trip: &Path) {
    rename_boot(trip, BOOT);
    rewrite(trip, |record| record.boot = BootId::try_from(BOOT).unwrap());
    let journal = fs::read(trip.join(JOURNAL)).unwrap();
    fs::write(trip.join(JOURNAL), [&journal[..], &journal].concat()).unwrap();
    for name in names(&trip.join("audio")) {
        let path = trip.join("audio").join(name);
        let mut sound = fs::read(&path).unwrap();
        sound.reverse();
        sound.extend([7; 100]);
        fs::write(path, sound).unwrap();
    }
}

/// Every file of a folder; the library's own are left out.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut all = BTreeMap::new();
    for name in names(folder)
        .into_iter()
        .filter(|name| !name.starts_with('.'))
    {
        let path = folder.join(&name);
        if path.is_dir() {
            all.extend(
                files(&path)
                    .into_iter()
                    .map(|(below, bytes)| (format!("{name}/{below}"), bytes)),
            );
        } else {
            all.insert(name, fs::read(&path).unwrap());
        }
    }
    all
}

/// Trips of the library, without the lock.
fn trips(case: &HomeCase) -> Vec<String> {
    let mut trips = names(&case.home().join("trips"));
    trips.retain(|name| name != ".lock");
    trips
}

/// A card with the demo's trip, pulled and then changed in the library, and a second
/// card with a copy of it that was changed.
fn two_cards(library: impl FnOnce(&HomeCase), second: impl FnOnce(&Path)) -> HomeCase {
    let case = HomeCase::with_card();
    copy_folder(&case.card(), &case.at("second").join(TRIP)).unwrap();
    second(&case.at("second"));
    case.run(&["pull", "card"]).code(0);
    library(&case);
    case
}

/// Fails unless both are kept, whole and apart; `first` is what the library calls the
/// one that was there.
#[track_caller]
fn check_other(first: &str, library: impl FnOnce(&HomeCase), second: impl FnOnce(&Path)) -> String {
    let case = two_cards(library, second);
    let before = files(&case.home().join("trips").join(first));
    case.run(&["pull", "second"]).code(0);
    assert_eq!(files(&case.home().join("trips").join(first)), before);
    let all = trips(&case);
    let new: Vec<&String> = all.iter().filter(|name| *name != first).collect();
    let [new] = new[..] else { panic!("{all:?}") };
    let mut on_card = names(&case.at("second"));
    on_card.retain(|name| !["pull-lease", "receipts"].contains(&name.as_str()));
    let on_card = case.at("second").join(&on_card[0]);
    assert_eq!(files(&case.home().join("trips").join(new)), files(&on_card));
    // Both are known again, in any order and with all read again.
    for source in ["second", "card", "second"] {
        let again = case.run(&["pull", source, "--verify"]);
        again.code(0).says(&["Nothing new."]);
    }
    assert_eq!(trips(&case), all);
    new.clone()
}

#[test]
fn another_trip_of_the_same_name_is_kept_beside_the_first() {
    let beside = format!("{TRIP}-{BOOT}");
    let drive = |card: &Path| another_drive(&card.join(TRIP));
    let nothing = |_: &HomeCase| ();
    assert_eq!(check_other(TRIP, nothing, drive), beside);
    // The folder on the second card has another name, or that in the library has.
    let renamed = |card: &Path| {
        drive(card);
        fs::rename(card.join(TRIP), card.join("from the spare card")).unwrap();
    };
    assert_eq!(check_other(TRIP, nothing, renamed), beside);
    let tuesday = |case: &HomeCase| {
        fs::rename(case.pulled(), case.home().join("trips/Tuesday")).unwrap();
    };
    assert_eq!(check_other("Tuesday", tuesday, drive), beside);
    // Only its sound of confirmed contacts is left of the first.
    let kept = |case: &HomeCase| {
        let audio = names(&case.pulled().join("audio"));
        let list = audio.iter().map(|name| {
            let path = format!("audio/{name}");
            let bytes = fs::read(case.pulled().join(&path)).unwrap().len();
            fs::remove_file(case.pulled().join(&path)).unwrap();
            serde_json::json!({"path": path, "bytes": bytes, "now": null})
        });
        let list: Vec<Value> = list.collect();
        let kept = serde_json::json!({"format": 1, "files": list});
        fs::write(case.pulled().join("kept.json"), kept.to_string()).unwrap();
    };
    assert_eq!(check_other(TRIP, kept, drive), beside);
    // The card was changed in mid-drive: the power-up is the same.
    let changed = |card: &Path| {
        rewrite(&card.join(TRIP), |record| {
            record.mono_ns += 1_000_000_000_000
        });
    };
    let own = check_other(TRIP, nothing, changed);
    assert!(own.starts_with(TRIP) && own.len() == beside.len(), "{own}");
}

#[test]
fn both_trips_of_a_name_are_found_by_every_command() {
    let case = two_cards(|_| (), |card| another_drive(&card.join(TRIP)));
    let beside = format!("{TRIP}-{BOOT}");
    case.run(&["pull", "second"]).code(0).says(&[
        &format!("{beside}: 17 files copied"),
        "the library already has a trip trip-000001-3fa2c1",
        &format!("draft {beside}"),
    ]);
    for word in ["1", "trip-000001"] {
        let said = [TRIP, &beside, "Give the full name"];
        case.run(&["draft", word]).code(1).says(&said);
    }
    let listed = case.run(&["trips", "--json"]).json();
    let listed: Vec<&str> = [0, 1].map(|at| listed[at]["trip"].as_str().unwrap()).into();
    assert_eq!(listed, [TRIP, &beside]);
    for (word, samples) in [(TRIP, true), (&beside, false)] {
        let said = case.run(&["check", word]).out;
        // The second one's sound is noise that no decoder takes.
        assert_eq!(said.contains(": broken"), !samples, "{word} {said}");
        // By this name the logbook knows it too.
        assert!(said.starts_with(&format!("{word}: ")), "{said}");
    }
}

#[test]
fn the_logbook_takes_one_trip_for_no_other() {
    let case = two_cards(|_| (), |card| another_drive(&card.join(TRIP)));
    // Not pulled, or called in the library as the first.
    let refused = ["is not the trip", "gets its own name"];
    let on_card = format!("second/{TRIP}");
    case.run(&["draft", &on_card]).code(1).says(&refused);
    case.run(&["pull", "second"]).code(0);
    let trips = case.home().join("trips");
    fs::rename(trips.join(format!("{TRIP}-{BOOT}")), trips.join("Tuesday")).unwrap();
    let rename = format!("rename its folder to {TRIP}-{BOOT}");
    case.run(&["draft", "Tuesday"]).code(1).says(&[&rename]);
    fs::rename(trips.join("Tuesday"), trips.join(format!("{TRIP}-{BOOT}"))).unwrap();
}

#[test]
fn the_receipt_of_one_is_not_that_of_the_other() {
    let case = two_cards(|_| (), |card| another_drive(&card.join(TRIP)));
    // The first one's, from before the card was written anew.
    let receipt = format!("receipts/{TRIP}.json");
    fs::create_dir(case.at("second/receipts")).unwrap();
    fs::copy(
        case.at("card").join(&receipt),
        case.at("second").join(&receipt),
    )
    .unwrap();
    case.run(&["pull", "second"]).code(0);
    let read = |card: &str| -> Value {
        serde_json::from_str(&case.read(&format!("{card}/{receipt}"))).unwrap()
    };
    let (first, second) = (read("card"), read("second"));
    assert_eq!(
        (&first["trip"], &second["trip"]),
        (&TRIP.into(), &TRIP.into())
    );
    let sums = |receipt: &Value| -> Vec<String> {
        let files = receipt["files"].as_array().unwrap();
        files
            .iter()
            .map(|file| file["sha256"].as_str().unwrap().to_owned())
            .collect()
    };
    assert!(sums(&first).iter().all(|sum| !sums(&second).contains(sum)));
    let own = case.read(&format!("home/trips/{TRIP}-{BOOT}/.sha256sums"));
    assert!(sums(&second).iter().all(|sum| own.contains(sum)));
}

#[test]
fn two_trips_of_one_name_in_one_source_both_come() {
    let case = HomeCase::with_card();
    let other = case.at("card/Copy of Tuesday");
    copy_folder(&case.card(), &other).unwrap();
    another_drive(&other);
    case.run(&["pull", "card"]).code(0);
    let beside = format!("{TRIP}-{BOOT}");
    assert_eq!(trips(&case), [TRIP, &beside]);
    assert_eq!(files(&case.pulled()), files(&case.card()));
    assert_eq!(
        files(&case.home().join("trips").join(beside)),
        files(&other)
    );
    // Only the one that is called as the board called it can go there.
    assert_eq!(names(&case.at("card/receipts")), [format!("{TRIP}.json")]);
    case.run(&["pull", "card"]).code(0).says(&["Nothing new."]);
}

/// Pulls what was done to the first card before the whole second one; one trip is left,
/// and it is the whole one.
#[track_caller]
fn check_same(says: &[&str], code: i32, first: impl FnOnce(&Path), second: impl FnOnce(&Path)) {
    let case = HomeCase::with_card();
    let whole = files(&case.card());
    copy_folder(&case.card(), &case.at("second").join(TRIP)).unwrap();
    first(&case.card());
    second(&case.at("second"));
    case.run(&["pull", "card"]).done();
    case.run(&["pull", "second"]).code(code).says(says);
    assert_eq!(trips(&case), [TRIP]);
    assert_eq!(files(&case.pulled()), whole);
    let receipt = case.at("second/receipts").join(format!("{TRIP}.json"));
    assert_eq!(receipt.exists(), code == 0);
    case.run(&["pull", "second"])
        .code(code)
        .says(&["Nothing new."]);
    assert_eq!(files(&case.pulled()), whole);
}

#[test]
fn halves_of_one_trip_become_one() {
    let cut = |trip: &Path, name: &str, bytes: usize| {
        let text = fs::read(trip.join(name)).unwrap();
        fs::write(trip.join(name), &text[..bytes]).unwrap();
    };
    let nothing = |_: &Path| ();
    let half = |trip: &Path| {
        cut(trip, JOURNAL, 5_000);
        for name in names(&trip.join("audio")).split_off(3) {
            fs::remove_file(trip.join("audio").join(name)).unwrap();
        }
        cut(trip, "audio/000002-tx.flac", 1_000);
    };
    check_same(&["14 files copied"], 0, half, nothing);
    let no_journal = |trip: &Path| fs::remove_file(trip.join(JOURNAL)).unwrap();
    check_same(&["1 file copied"], 0, no_journal, nothing);
    let sound_only = |trip: &Path| {
        no_journal(trip);
        fs::remove_file(trip.join("trip.json")).unwrap();
    };
    check_same(&["2 files copied"], 0, sound_only, nothing);
    let torn = |trip: &Path| {
        cut(trip, JOURNAL, 0);
        cut(trip, "trip.json", 20);
    };
    check_same(&["2 files copied"], 0, torn, nothing);
}

#[test]
fn a_flipped_bit_makes_no_other_trip() {
    let nothing = |_: &Path| ();
    let kept = ["trip.json differs from the copy in the library, which was kept"];
    check_same(&kept, 3, nothing, |card| {
        rename_boot(&card.join(TRIP), "025bfc03")
    });
    check_same(&kept, 3, nothing, |card| {
        let path = card.join(TRIP).join("trip.json");
        let mut text = fs::read(&path).unwrap();
        text[0] ^= 1;
        fs::write(path, text).unwrap();
    });
    let kept = ["journal.jsonl differs from the copy in the library, which was kept"];
    check_same(&kept, 3, nothing, |card| {
        let path = card.join(TRIP).join(JOURNAL);
        let mut text = fs::read(&path).unwrap();
        // Longer, but not what the library has and more.
        text[30] ^= 1;
        text.extend(b"x\n");
        fs::write(path, text).unwrap();
    });
}

#[test]
fn what_another_card_left_unfinished_is_not_gone_on_with() {
    let case = HomeCase::with_card();
    let beside = case.at("second").join(TRIP);
    copy_folder(&case.card(), &beside).unwrap();
    another_drive(&beside);
    // The first card was removed in the middle, by an older version of this program.
    let part = format!("home/trips/.{TRIP}.part");
    copy_folder(&case.card(), &case.at(&part)).unwrap();
    fs::remove_file(case.at(&part).join("audio/000007-rx.flac")).unwrap();
    case.run(&["pull", "second"]).code(0);
    assert_eq!(files(&case.pulled()), files(&beside));
    let boot = "025bfc02";
    case.run(&["pull", "card"]).code(0);
    let first = case.home().join("trips").join(format!("{TRIP}-{boot}"));
    assert_eq!(files(&first), files(&case.card()));
    assert_eq!(trips(&case), [TRIP.to_owned(), format!("{TRIP}-{boot}")]);
}
