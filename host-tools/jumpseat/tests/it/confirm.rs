//! Confirm: what a person can enter about an entry.

use std::fs;

use crate::case::HomeCase;

/// Words after `confirm 1`, the exit code, what is said.
#[track_caller]
fn check(words: &[&str], code: i32, says: &[&str]) {
    let case = HomeCase::drafted();
    let arguments = [&["confirm", "1"], words].concat();
    case.run(&arguments).code(code).says(says);
    let log = case.run(&["log", "--json"]).code(0).json();
    assert_eq!(log[0]["contact"].is_null(), matches!(code, 1 | 2));
}

#[test]
fn what_is_usual_is_taken_and_the_unusual_is_doubted() {
    check(&["--call", "KB0QSE"], 0, &["KB0QSE", "Confirmed"]);
    check(&["--call", "kb0qse/m"], 0, &["KB0QSE/M"]);
    check(
        &["--call", "KB0QSE", "--mode", "QQ"],
        3,
        &["doubt: 'QQ' is no mode that is known here"],
    );
    check(
        &["--call", "KB0QSE", "--sent", "five nine"],
        3,
        &[
            "doubt: the report sent 'five nine' is unusual",
            "such as 59",
        ],
    );
}

#[test]
fn what_can_never_be_is_refused() {
    check(&["--call", "KB0 QSE!"], 2, &["cannot be a call sign"]);
    check(&["--call", ""], 2, &["cannot be a call sign"]);
    check(&[], 2, &["--call"]);
    check(
        &["--call", "KB0QSE", "--mhz", "14287.5"],
        2,
        &["type 14.2875"],
    );
    check(
        &["--call", "KB0QSE", "--off", "2026-05-14 15:00"],
        2,
        &["it cannot end (2026-05-14 15:00:00) before it begins (2026-05-14 15:04:28)"],
    );
    check(&["--call", "KB0QSE", "--colour", "blue"], 2, &["--colour"]);
}

#[test]
fn an_unknown_number_is_an_error() {
    let case = HomeCase::drafted();
    for number in ["7", "0"] {
        case.run(&["confirm", number, "--call", "KB0QSE"])
            .code(1)
            .says(&["the logbook has no entry", "`jumpseat log` lists the entries"]);
    }
    case.run(&["confirm", "one", "--call", "KB0QSE"])
        .code(2)
        .says(&["'one'", "not a whole number"]);
}

#[test]
fn what_was_heard_and_not_said_is_told_and_not_taken() {
    let case = HomeCase::drafted();
    let told =
        "heard but not confirmed, so left out of the log: --sent 59 --received 57 --name Ruth";
    case.run(&["confirm", "1", "--call", "KB0QSE"])
        .code(0)
        .says(&[told]);
    let rest = ["--sent", "59", "--received", "57", "--name", "Ruth"];
    let ran = case.run(&[&["confirm", "1", "--call", "KB0QSE"], &rest[..]].concat());
    assert!(!ran.code(0).out.contains("heard but not confirmed"));
    ran.says(&["also in the log: name Ruth"]);
    // The list of actions tells what a correction changed.
    case.run(&["undo", "--list"])
        .code(0)
        .says(&["corrected entry 1: KB0QSE, report sent 59, report received 57, name Ruth"]);
}

#[test]
fn a_later_word_replaces_and_an_empty_one_takes_out() {
    let case = HomeCase::drafted();
    case.run(&["confirm", "1", "--call", "KB0QSE", "--name", "Ruth"])
        .code(0);
    case.run(&["confirm", "1", "--call", "KB0QSF", "--sent", "57"])
        .code(0)
        .says(&["previously confirmed with another call sign"]);
    case.run(&["confirm", "1", "--call", "KB0QSF", "--sent", ""])
        .code(0);
    let log = case.run(&["log", "--json"]).code(0).json();
    let contact = &log[0]["contact"];
    assert_eq!(contact["call"], "KB0QSF");
    assert_eq!(contact["name"], "Ruth");
    assert!(contact["sent"].is_null());
    // Taken over from the draft, without hearing.
    assert_eq!(contact["hz"], 14_287_500);
    assert_eq!(contact["submode"], "USB");
    assert_eq!(contact["station"], "W7QTM");
}

#[test]
fn an_own_call_sign_that_comes_late_still_goes_out() {
    let case = HomeCase::with_card();
    let header = case.card().join("trip.json");
    let text = fs::read_to_string(&header).unwrap();
    let text = text.replace("\"W7QTM\"", "null");
    fs::write(&header, text).unwrap();
    case.run(&["pull", "card"]).code(0);
    case.run(&["draft", "1"]).done();
    let unknown = "your own call sign is not known; write `call = \"...\"` into";
    for number in ["1", "2"] {
        case.run(&["confirm", number, "--call", "KB0QSE"])
            .code(3)
            .says(&[unknown]);
    }
    let out = |name| case.run(&["export", "--format", "adif", "--all", "--out", name]);
    out("a.adi")
        .code(3)
        .says(&["2 contacts", unknown, "then export again with --all"]);
    let told = case.run(&["export", "--format", "csv", "--json"]);
    let doubts = told.code(3).json()["doubts"].clone();
    assert_eq!(doubts.as_array().unwrap().len(), 1, "{doubts}");
    assert!(doubts[0].as_str().unwrap().starts_with("entries 1, 2: "));
    // Of what is left out for its time nothing else is asked.
    case.run(&["confirm", "2", "--call", "KB0QSE", "--on", ""])
        .code(3);
    out("c.adi")
        .code(3)
        .says(&["doubt: entry 2: left out", "doubt: entry 1: your own"]);
    case.run(&["undo"]).code(0);
    case.write("home/station.toml", "call = \"w7qtm\"\n");
    out("b.adi").code(0);
    assert!(case.read("b.adi").contains("<STATION_CALLSIGN:5>W7QTM "));
    case.run(&["confirm", "1", "--call", "KB0QSE"]).code(0);
}

#[test]
fn the_station_file_counts_before_the_recorder() {
    let case = HomeCase::drafted();
    case.write("home/station.toml", "call = \"W7QTM/M\"\n");
    case.run(&["confirm", "1", "--call", "KB0QSE"]).code(0);
    let log = case.run(&["log", "--json"]).code(0).json();
    assert_eq!(log[0]["contact"]["station"], "W7QTM/M");
    assert_eq!(log[0]["contact"]["operator"], "W7QTM");
}
