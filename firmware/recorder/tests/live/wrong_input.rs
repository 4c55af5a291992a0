//! What is wrong is said clearly, and nothing is lost by it.

use std::fs;
use std::process::Output;
use std::thread::sleep;
use std::time::Duration;

use super::board::feeder::noise;
use super::board::{Board, Feeder};
use jumpseat_core::journal::{Event, Fault};

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned() + &String::from_utf8_lossy(&output.stdout)
}

#[track_caller]
fn check(board: &Board, words: &[&str], code: i32, says: &[&str]) {
    let output = board.command(words).output().unwrap();
    let text = said(&output);
    assert_eq!(output.status.code(), Some(code), "{text}");
    for wanted in says {
        assert!(text.contains(wanted), "{wanted:?} is not in: {text}");
    }
}

#[test]
fn a_misspelt_key_is_named_and_nothing_is_started() {
    let board = Board::new().with("sond = { rx = 0 }");
    for words in [&["run"][..], &["check"], &["validate"]] {
        check(
            &board,
            words,
            2,
            &["unknown field `sond`", "`sound`", "recorder.toml"],
        );
    }
    assert_eq!(fs::read_dir(board.path("card")).unwrap().count(), 0);
}

#[test]
fn a_right_config_is_called_right() {
    check(&Board::new(), &["validate"], 0, &["right"]);
}

#[test]
fn a_missing_sound_device_is_told_with_those_that_exist() {
    let board = Board::new().with("sound = { device = \"nowhere\" }");
    let says = ["there is no sound device \"nowhere\"", "fifoin"];
    check(&board, &["run", "--strict"], 1, &says);
    check(&board, &["check", "--seconds", "1"], 1, &says);
}

#[test]
fn a_missing_serial_port_is_told() {
    let board = Board::new().with("gps = { serial = { device = \"/dev/no-such-port\" } }");
    let says = ["/dev/no-such-port", "No such file", "check its cable"];
    check(&board, &["check", "--seconds", "1"], 1, &says);
}

#[test]
fn a_missing_card_folder_is_told() {
    let board = Board::new();
    fs::remove_dir(board.path("card")).unwrap();
    check(
        &board,
        &["run"],
        1,
        &["card", "No such file", "check that the path"],
    );
}

#[test]
fn a_sound_device_that_comes_late_is_waited_for_and_the_rest_is_recorded() {
    let board = Board::new().with_sound(16_000);
    let asoundrc = board.path(".asoundrc");
    let text = fs::read_to_string(&asoundrc).unwrap();
    fs::write(&asoundrc, "").unwrap();
    let recorder = board.record();
    recorder.hears("there is no sound device");
    board.say("mark 1");
    recorder.hears("mark acknowledged");
    recorder.hears("no sound coming in");
    // It is plugged in.
    let feeder = Feeder::start(&board.path("sound"), 16_000, noise(12, 16_000));
    fs::write(&asoundrc, text).unwrap();
    recorder.hears("state: recording");
    sleep(Duration::from_secs(1));
    assert!(feeder.fed() > 0);
    assert_eq!(recorder.terminate().code(), Some(0));
    let trip = board.trip();
    let sound = |event: &Event| match event {
        Event::Fault { fault, .. } => (*fault == Fault::Sound).then_some('f'),
        Event::Recovery { fault, .. } => (*fault == Fault::Sound).then_some('r'),
        _ => None,
    };
    let story: String = trip
        .records
        .iter()
        .filter_map(|r| sound(&r.event))
        .collect();
    assert_eq!(story, "fr", "{}", trip.journal());
    assert!(trip.has(|event| *event == Event::Mark {}));
    assert!(!trip.pieces().is_empty());
}

#[test]
fn the_report_of_check_is_also_json() {
    let board = Board::new().with("sound = { device = \"nowhere\" }");
    let output = board
        .command(&["check", "--json", "--seconds", "1"])
        .output()
        .unwrap();
    let report: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let findings = report["findings"].as_array().unwrap();
    let of = |input: &str| {
        let found = findings.iter().find(|finding| finding["input"] == input);
        found.unwrap()["health"].as_str().unwrap().to_owned()
    };
    assert_eq!(of("card"), "good");
    assert_eq!(of("sound"), "failed");
    assert_eq!(of("gps"), "doubtful");
    assert_eq!(of("ptt"), "good");
}
