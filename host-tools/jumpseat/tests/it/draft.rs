//! Draft and check.

use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::case::{HomeCase, TRIP};

#[test]
fn drafting_again_keeps_what_a_person_confirmed() {
    let case = HomeCase::drafted();
    case.run(&["confirm", "1", "--call", "kb0qse", "--sent", "59"])
        .code(0);
    // The other contact is clear: no doubt is left.
    case.run(&["draft", TRIP]).code(0).says(&[
        "KB0QSE - 59/- DN51em",
        "the reports for RST: jumpseat --home home confirm 2 --call CALL",
    ]);
    let log = case.run(&["log", "--json"]).code(0).json();
    let entries = log.as_array().unwrap();
    assert_eq!(entries.len(), 2);
    assert_eq!(entries[0]["contact"]["call"], "KB0QSE");
    assert_eq!(entries[0]["number"], 1);
    assert_eq!(entries[1]["contact"], Value::Null);
}

#[test]
fn drafting_again_changes_nothing_and_says_so() {
    let case = HomeCase::drafted();
    for _ in 0..2 {
        let again = case.run(&["draft", TRIP]);
        let out = again.done().out.clone();
        assert!(!out.contains("since the last draft"), "{out}");
    }
    let actions = case.run(&["undo", "--list", "--json"]).code(0).json();
    assert_eq!(actions.as_array().unwrap().len(), 1);
}

#[test]
fn the_readme_shows_what_is_printed() {
    let readme = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../README.md");
    let readme = fs::read_to_string(readme).unwrap();
    let command = format!("    $ jumpseat draft {TRIP}\n");
    let (_, example) = readme.split_once(&command).unwrap();
    let example = example
        .lines()
        .take_while(|line| line.is_empty() || line.starts_with("    "));
    let shown: Vec<&str> = example.map(|line| line.get(4..).unwrap_or("")).collect();
    let ran = HomeCase::drafted().run(&["draft", TRIP]);
    let printed = ran.done().out.replace(" --home home", "");
    assert_eq!(shown.join("\n").trim_end(), printed.trim_end());
}

/// The drive of a board whose config names nobody.
fn nobodys() -> HomeCase {
    let case = HomeCase::drafted();
    let header = case.pulled().join("trip.json");
    let mut told: Value = serde_json::from_str(&fs::read_to_string(&header).unwrap()).unwrap();
    told["station"] = serde_json::json!({ "call": null, "operator": null });
    fs::write(&header, told.to_string()).unwrap();
    case
}

#[test]
fn whose_drive_it_is_stands_in_the_station_file_or_is_told_as_not_known() {
    const UNKNOWN: &str = "doubt: your own call sign is not known; write `call = \"...\"` into \
                           home/station.toml";
    let case = nobodys();
    let calls = || {
        let log = case.run(&["log", "--json"]).code(0).json();
        let entries = log.as_array().unwrap().iter();
        let calls = entries.map(|entry| entry["draft"]["call"]["value"].as_str());
        calls
            .map(|call| call.unwrap_or("-").to_owned())
            .collect::<Vec<_>>()
    };
    let worked = ["KB0QSE", "N0QRD"];
    let taken = format!("{UNKNOWN}. W7QTM was taken for it: you keep saying it");
    case.run(&["draft", "1"]).code(3).says(&[&taken]);
    assert_eq!(calls(), worked);
    for station in ["call = \"W7QTM\"\n", "operator = \"w7qtm/m\"\n"] {
        case.write("home/station.toml", station);
        let out = case.run(&["draft", "1"]).done().out.clone();
        assert!(!out.contains("own call sign"), "{out}");
        assert_eq!(calls(), worked);
    }
    // An own call sign, from the board's config or the station file, is never another station's.
    case.write("home/station.toml", "call = \"KB0QSE\"\n");
    case.run(&["draft", "1"]).done();
    assert!(!calls().contains(&"KB0QSE".to_owned()), "{:?}", calls());
}

#[test]
fn a_trip_has_four_names() {
    let case = HomeCase::with_card();
    case.run(&["pull", "card"]).code(0);
    for name in [TRIP, "1", "trip-000001", "home/trips/trip-000001-3fa2c1"] {
        case.run(&["check", name]).code(3).says(&[TRIP]);
    }
}

#[test]
fn the_document_has_every_value_with_its_doubts() {
    let case = HomeCase::drafted();
    let document = case.run(&["draft", "1", "--json", "-"]).done().json();
    assert_eq!(document["format"], 1);
    assert_eq!(document["trip"], TRIP);
    let drafts = document["drafts"].as_array().unwrap();
    assert_eq!(drafts.len(), 2);
    let first = &drafts[0];
    assert_eq!(first["number"], 1);
    assert_eq!(first["kind"], "contact");
    assert_eq!(first["confirmed"], false);
    assert_eq!(first["call"]["value"], "KB0QSE");
    assert!(first["call"]["probability"].as_f64().unwrap() > 0.5);
    assert!(!first["call"]["evidence"].as_array().unwrap().is_empty());
    assert_eq!(first["hz"]["value"], 14_287_500);
    assert_eq!(first["locator"]["value"], "DN51em");
    assert_eq!(first["area"]["value"]["county"], "WY,Sweetwater");
    assert!(first["area_off"].is_null());
    assert!(first["on"]["uncertainty_s"].as_f64().unwrap() < 1.0);
    assert_eq!(document["unanswered"].as_array().unwrap().len(), 1);
    // The same in a file, beside the table.
    case.run(&["draft", "1", "--json", "draft.json"])
        .done()
        .says(&["2 contacts"]);
    let file: Value = serde_json::from_str(&case.read("draft.json")).unwrap();
    assert_eq!(file, document);
}

#[test]
fn the_report_is_there_for_programs_too() {
    let case = HomeCase::with_card();
    let card = format!("card/{TRIP}");
    let report = case.run(&["check", &card, "--json"]).code(3).json();
    assert_eq!(report["trip"], TRIP);
    assert_eq!(report["verdict"], "doubtful");
    assert_eq!(report["damage"].as_array().unwrap().len(), 0);
    assert!(!case.home().exists());
}

/// Damages the trip on the card; what check says, and how many contacts draft
/// still finds.
#[track_caller]
fn check(damage: impl FnOnce(&HomeCase), says: &[&str], contacts: usize) {
    let case = HomeCase::with_card();
    damage(&case);
    let card = format!("card/{TRIP}");
    case.run(&["check", &card]).code(3).says(says);
    let draft = case.run(&["draft", &card, "--json", "-"]).code(3).json();
    let found = draft["drafts"].as_array().unwrap();
    let found = found.iter().filter(|draft| draft["kind"] == "contact");
    assert_eq!(found.count(), contacts);
}

#[test]
fn damage_is_reported_and_the_rest_is_drafted() {
    let journal = |case: &HomeCase| case.card().join("journal.jsonl");
    // What the journal lost is salvaged from the sound files.
    check(
        |case| {
            let text = fs::read_to_string(journal(case)).unwrap();
            fs::write(journal(case), &text[..text.len() * 6 / 10]).unwrap();
        },
        &["journal.jsonl"],
        2,
    );
    check(
        |case| {
            let mut bytes = fs::read(journal(case)).unwrap();
            bytes[2000] ^= 1;
            fs::write(journal(case), bytes).unwrap();
        },
        &["journal.jsonl"],
        2,
    );
    check(
        |case| fs::write(case.card().join("audio/000005-rx.flac"), "not sound").unwrap(),
        &["000005-rx.flac"],
        2,
    );
    check(
        |case| fs::remove_file(case.card().join("audio/000001-rx.flac")).unwrap(),
        &["000001-rx"],
        2,
    );
}
