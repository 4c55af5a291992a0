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
        .code(2)
        .says(&["is no address of a board"]);
}

/// Events of a pull, by their names.
fn events(said: &str) -> Vec<(String, Value)> {
    said.lines()
        .map(|line| serde_json::from_str::<Value>(line).unwrap())
        .map(|event| (event["event"].as_str().unwrap().to_owned(), event))
        .collect()
}

#[test]
fn json_lines_tell_a_script_everything() {
    let case = Case::with_card();
    let said = case.run(&["pull", "card", "--json"]).code(0).out();
    let events_of_first = events(&said);
    let named = |name: &str| -> Vec<&Value> {
        let of_that_name = events_of_first.iter().filter(|(event, _)| event == name);
        of_that_name.map(|(_, event)| event).collect()
    };
    let found = named("found")[0];
    assert_eq!((&found["trips"], &found["files"]), (&1.into(), &17.into()));
    let files = named("file");
    assert_eq!(files.len(), 17);
    let sums = case.read(&format!("home/trips/{TRIP}/.sha256sums"));
    for file in files {
        assert_eq!(file["result"], "copied");
        let line = format!(
            "{}  {}",
            file["sha256"].as_str().unwrap(),
            file["file"].as_str().unwrap()
        );
        assert!(sums.contains(&line), "{line}");
    }
    let trip = named("trip")[0];
    assert_eq!((&trip["trip"], &trip["copied"]), (&TRIP.into(), &17.into()));
    assert_eq!(
        (&trip["board"], &trip["operator"]),
        (&"3fa2c1".into(), &"W7QTM".into())
    );
    assert_eq!(events_of_first.last().unwrap().0, "end");

    let again = case.run(&["pull", "card", "--json"]).code(0).out();
    let end = &events(&again).last().unwrap().1.clone();
    assert_eq!((&end["copied"], &end["bytes"]), (&0.into(), &0.into()));
    let failed = case.run(&["pull", "nowhere", "--json"]);
    assert_eq!(events(&failed.code(1).out())[0].0, "failed");
}

/// Renames the trip's folder on the card or in the library, or doubles it; a pull
/// then finds nothing new, and one trip is in the library.
#[track_caller]
fn check_recognised(change: impl FnOnce(&Case), says: &str) {
    let case = Case::with_card();
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
        |case| crate::case::copy(&case.card(), &case.at("card/Copy of Tuesday")),
        "its folder there is called Copy of Tuesday",
    );
    check_recognised(
        |case| rename(case.card(), case.at("card/trip-old")),
        "its folder there is called trip-old",
    );
    check_recognised(
        |case| rename(case.pulled(), case.at("home/trips/Tuesday")),
        "",
    );
    // A backup of the library keeps bytes, not times; perhaps no hidden files.
    check_recognised(
        |case| {
            let away = case.at("away");
            crate::case::copy(&case.pulled(), &away);
            fs::remove_dir_all(case.pulled()).unwrap();
            rename(away, case.pulled());
        },
        "17 files here already",
    );
}

#[test]
fn a_backup_without_checksums_is_proven_anew() {
    let case = Case::with_card();
    case.run(&["pull", "card"]).code(0);
    fs::remove_file(case.pulled().join(".sha256sums")).unwrap();
    case.run(&["pull", "card"])
        .code(0)
        .says(&["17 files copied and verified"]);
    case.run(&["pull", "card"]).code(0).says(&["Nothing new."]);
}

#[test]
fn a_trip_that_is_being_recorded_comes_up_to_its_last_closed_file_and_is_completed_later() {
    let case = Case::with_card();
    let whole = fs::read_to_string(case.card().join(JOURNAL)).unwrap();
    let last = names(&case.card().join("audio")).pop().unwrap();
    let number = last[..6].parse::<u32>().unwrap();
    let closed = format!("\"segment_closed\":{{\"segment\":{number},");
    let ends = |line: &&str| line.contains(&closed) || line.contains("\"shutdown\"");
    let open: Vec<&str> = whole.lines().filter(|line| !ends(line)).collect();
    assert_eq!(open.len(), whole.lines().count() - 2);
    // The board writes WAV, whose name the journal stands for.
    let wav = case.card().join("audio").join(last.replace("flac", "wav"));
    fs::rename(case.card().join("audio").join(&last), &wav).unwrap();
    fs::write(case.card().join(JOURNAL), open.join("\n") + "\n").unwrap();
    case.run(&["pull", "card"]).code(0).says(&[
        "16 files copied",
        "still being recorded; the rest comes with the next pull",
    ]);
    assert!(
        !case
            .pulled()
            .join("audio")
            .join(wav.file_name().unwrap())
            .exists()
    );
    assert!(!case.at("card/receipts").exists());

    fs::write(case.card().join(JOURNAL), &whole).unwrap();
    case.run(&["pull", "card"])
        .code(0)
        .says(&["2 files copied"]);
    assert_eq!(
        names(&case.pulled().join("audio")),
        names(&case.card().join("audio"))
    );
    assert!(case.at("card/receipts").exists());
    case.run(&["pull", "card"]).code(0).says(&["Nothing new."]);
}

#[test]
fn a_journal_of_gigabytes_stays_outside() {
    let case = Case::with_card();
    let journal = fs::File::options()
        .write(true)
        .open(case.card().join(JOURNAL))
        .unwrap();
    journal.set_len(3_000_000_000).unwrap();
    case.run(&["pull", "card"])
        .code(3)
        .says(&["longer than any journal; it was passed over"]);
    assert!(!case.pulled().join(JOURNAL).exists());
    assert!(!case.at("card/receipts").exists());
}

#[test]
fn a_trip_that_calls_itself_a_way_out_stays_under_its_folders_name() {
    let case = Case::with_card();
    let header = r#"{"format":1,"trip":1,"board":"../../../elsewhere","boot":"9f2c41d0"}"#;
    fs::write(case.card().join("trip.json"), header).unwrap();
    let ran = case.run(&["pull", "card"]);
    assert_eq!(
        names(&case.at("home/trips")),
        [".lock", TRIP],
        "{}",
        ran.out()
    );
    assert!(!case.at("elsewhere").exists() && !case.at("home/elsewhere").exists());
}

#[test]
fn several_boards_are_pulled_and_one_that_is_away_does_not_stop_the_others() {
    let case = Case::with_card();
    case.write("home/station.toml", "boards = [\"nowhere\", \"card\"]\n");
    case.run(&["pull"])
        .code(1)
        .says(&["there is no folder nowhere", "17 files copied"]);
    case.write("home/station.toml", "boards = [\"card\"]\n");
    case.run(&["pull"]).code(0).says(&["Nothing new."]);
}

#[cfg(unix)]
#[test]
fn a_source_that_would_fill_the_disk_is_refused() {
    let case = Case::with_card();
    // Sparse: 8 TB that take no room.
    for number in 100..2_000 {
        let path = case.card().join(format!("audio/{number:06}-rx.wav"));
        fs::File::create(path).unwrap().set_len(1 << 32).unwrap();
    }
    case.run(&["pull", "card", "--at-most-gb", "100000"])
        .code(1)
        .says(&["free", "are to come", "Make room"]);
    assert!(!case.pulled().exists());
}
