//! Bad input: a clear message, the right exit code, nothing lost.

use std::fs;

use crate::case::{HomeCase, TRIP};

#[track_caller]
fn check(arguments: &[&str], code: i32, says: &[&str]) {
    let case = HomeCase::with_card();
    case.write("file", "a letter");
    fs::create_dir_all(case.at("empty/trip-000003-3fa2c1")).unwrap();
    fs::create_dir_all(case.at("nothing")).unwrap();
    case.run(arguments).code(code).says(says);
    assert!(!case.at("home/logbook.sqlite").exists());
}

#[test]
fn what_is_not_there() {
    check(&["check", "away"], 1, &["there is no trip or folder away"]);
    check(&["draft", "away"], 1, &["there is no trip or folder away"]);
    check(
        &["draft", "99"],
        1,
        &[
            "there is no trip or folder 99",
            "there are no trips in home/trips",
            "pull FOLDER",
        ],
    );
    check(&["pull", "away"], 1, &["there is no folder away"]);
    check(&["pull", "file"], 1, &["file is a file"]);
    check(
        &["pull", "nothing"],
        1,
        &["there is no trip in nothing", "trip.json"],
    );
    check(
        &["pull", "ssh://127.0.0.1:1/"],
        1,
        &["cannot reach 127.0.0.1", "pull again"],
    );
}

#[test]
fn what_was_used_wrongly() {
    check(&[], 2, &["Usage"]);
    check(&["fly"], 2, &["fly"]);
    check(&["draft"], 2, &["<TRIP>"]);
    check(&["export"], 2, &["--format adif", "csv"]);
    check(&["log", "--band", "14"], 2, &["examples: 20m"]);
    check(&["log", "--last", "x"], 2, &["not a whole number"]);
    check(
        &["log", "--from", "2026-05-15", "--to", "2026-05-01"],
        2,
        &["--to 2026-05-01 is before --from 2026-05-15"],
    );
    check(
        &[
            "export", "--format", "segments", "--trip", TRIP, "--band", "20m",
        ],
        2,
        &["remove the options that select contacts"],
    );
    check(&["export", "--format", "paper"], 2, &["paper", "adif"]);
    check(
        &["export", "--format", "adif", "--all", "--trip", "1"],
        2,
        &["--all", "--trip"],
    );
}

#[test]
fn a_trip_folder_that_is_empty() {
    check(
        &["check", "empty/trip-000003-3fa2c1"],
        1,
        &["trip-000003-3fa2c1"],
    );
    check(
        &["draft", "empty/trip-000003-3fa2c1"],
        1,
        &["trip-000003-3fa2c1"],
    );
    check(
        &["pull", "empty"],
        3,
        &["it is empty; it was not copied", "Nothing new."],
    );
}

#[test]
fn a_misspelt_key_in_the_station_file() {
    let case = HomeCase::drafted();
    case.write("home/station.toml", "call = \"Ruth\"\n");
    case.run(&["confirm", "1", "--call", "KB0QSE"])
        .code(1)
        .says(&["home/station.toml `call = \"Ruth\"` cannot be a call sign"]);
    case.write("home/station.toml", "# mine\ncal = \"W7QTM\"\n");
    case.run(&["confirm", "1", "--call", "KB0QSE"])
        .code(1)
        .says(&[
            "cannot read home/station.toml",
            "unknown field `cal`",
            "call",
        ]);
    let log = case.run(&["log", "--json"]).code(0).json();
    assert!(log[0]["contact"].is_null());
}

#[test]
fn a_logbook_that_is_none() {
    let case = HomeCase::with_card();
    case.write(
        "home/logbook.sqlite",
        "a letter to the editor, of some length",
    );
    for arguments in [&["log"][..], &["draft", &format!("card/{TRIP}")]] {
        case.run(arguments)
            .code(1)
            .says(&["home/logbook.sqlite", "It is not a logbook", "--home"]);
    }
    assert!(case.read("home/logbook.sqlite").starts_with("a letter"));
}

#[test]
fn a_wav_file_that_is_none() {
    let case = HomeCase::with_card();
    let audio = case.card().join("audio");
    fs::remove_file(audio.join("000005-rx.flac")).unwrap();
    fs::write(audio.join("000005-rx.wav"), "dear friend, this is no sound").unwrap();
    let card = format!("card/{TRIP}");
    case.run(&["check", &card]).code(3).says(&["000005-rx.wav"]);
    case.run(&["draft", &card]).code(3).says(&["000005-rx.wav"]);
    let text = fs::read_to_string(audio.join("000005-rx.wav")).unwrap();
    assert!(text.starts_with("dear friend"));
}
