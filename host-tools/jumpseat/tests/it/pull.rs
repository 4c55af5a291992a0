//! Pull: what is promised about every file.

mod again;
mod one_by_one;
mod refused;
mod running;
mod same_name;

use std::fs;

use serde_json::Value;

use crate::case::{HomeCase, TRIP, names};

const JOURNAL: &str = "journal.jsonl";

#[test]
fn a_single_trip_and_a_card_with_a_trips_folder() {
    let case = HomeCase::with_card();
    case.run(&["pull", &format!("card/{TRIP}")]).code(0);
    fs::create_dir(case.at("board")).unwrap();
    fs::rename(case.at("card"), case.at("board/trips")).unwrap();
    case.run(&["pull", "board"]).code(0).says(&["Nothing new."]);
}

#[test]
fn the_receipt_lists_every_file_of_the_trip_by_its_hash() {
    let case = HomeCase::with_card();
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
    let case = HomeCase::with_card();
    case.run(&["pull", &format!("card/{TRIP}")]).code(0);
    assert_eq!(names(&case.at("card")), [TRIP]);
    let mut bytes = fs::read(case.card().join(JOURNAL)).unwrap();
    bytes[100] ^= 1;
    fs::write(case.card().join(JOURNAL), bytes).unwrap();
    case.run(&["pull", "card"]).code(3);
    assert!(!case.at("card/receipts").exists());
}

/// Events of a pull, by their names.
fn events(said: &str) -> Vec<(String, Value)> {
    let events: Vec<Value> = jumpseat_test_kit::json_lines(said).unwrap();
    let named = events.into_iter();
    named
        .map(|event| (event["event"].as_str().unwrap().to_owned(), event))
        .collect()
}

#[test]
fn json_lines_tell_a_script_everything() {
    let case = HomeCase::with_card();
    let said = case.run(&["pull", "card", "--json"]).code(0).out.clone();
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

    let again = case.run(&["pull", "card", "--json"]).code(0).out.clone();
    let end = &events(&again).last().unwrap().1.clone();
    assert_eq!((&end["copied"], &end["bytes"]), (&0.into(), &0.into()));
    let failed = case.run(&["pull", "nowhere", "--json"]);
    assert_eq!(events(&failed.code(1).out)[0].0, "failed");
}

#[test]
fn several_boards_are_pulled_and_one_that_is_away_does_not_stop_the_others() {
    let case = HomeCase::with_card();
    case.write("home/station.toml", "boards = [\"nowhere\", \"card\"]\n");
    case.run(&["pull"])
        .code(1)
        .says(&["there is no folder nowhere", "17 files copied"]);
    case.write("home/station.toml", "boards = [\"card\"]\n");
    case.run(&["pull"]).code(0).says(&["Nothing new."]);
}
