//! Confirm: what a person may say of an entry.

use crate::case::Case;

/// Words after `confirm 1`, the exit code, what is said.
#[track_caller]
fn check(words: &[&str], code: i32, says: &[&str]) {
    let case = Case::drafted();
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
    check(&["--call", "KB0QSE", "--colour", "blue"], 2, &["--colour"]);
}

#[test]
fn an_unknown_number_is_an_error() {
    let case = Case::drafted();
    for number in ["7", "0"] {
        case.run(&["confirm", number, "--call", "KB0QSE"])
            .code(1)
            .says(&["the logbook has no entry", "`jumpseat log`"]);
    }
    case.run(&["confirm", "one", "--call", "KB0QSE"])
        .code(2)
        .says(&["one"]);
}

#[test]
fn a_later_word_replaces_and_an_empty_one_takes_out() {
    let case = Case::drafted();
    case.run(&["confirm", "1", "--call", "KB0QSE", "--name", "Ruth"])
        .code(0);
    case.run(&["confirm", "1", "--call", "KB0QSF", "--sent", "57"])
        .code(0)
        .says(&["another call sign was confirmed before"]);
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
fn the_station_file_counts_before_the_recorder() {
    let case = Case::drafted();
    case.write("home/station.toml", "call = \"W7QTM/M\"\n");
    case.run(&["confirm", "1", "--call", "KB0QSE"]).code(0);
    let log = case.run(&["log", "--json"]).code(0).json();
    assert_eq!(log[0]["contact"]["station"], "W7QTM/M");
    assert_eq!(log[0]["contact"]["operator"], "W7QTM");
}
