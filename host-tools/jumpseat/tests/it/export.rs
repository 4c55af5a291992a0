//! Export: only what is new, or all, or a trip; never over another file.

use crate::case::{HomeCase, TRIP};

fn confirmed() -> HomeCase {
    let case = HomeCase::drafted();
    case.run(&["confirm", "1", "--call", "KB0QSE"]).code(0);
    case
}

#[track_caller]
fn check(case: &HomeCase, words: &[&str], file: &str, says: &[&str], calls: &[&str]) {
    let arguments = [&["export", "--format", "adif", "--out", file], words].concat();
    case.run(&arguments).code(0).says(says);
    if calls.is_empty() {
        assert!(!case.at(file).exists());
        return;
    }
    let text = case.read(file);
    let found: Vec<&str> = text
        .split("<CALL:")
        .skip(1)
        .map(|rest| rest[2..].split(' ').next().unwrap())
        .collect();
    assert_eq!(found, calls);
}

#[test]
fn nothing_goes_out_twice_unless_asked() {
    let case = confirmed();
    check(&case, &[], "a.adi", &["a.adi: 1 contact"], &["KB0QSE"]);
    check(&case, &[], "b.adi", &["Nothing to export"], &[]);
    case.run(&["confirm", "2", "--call", "N0QRD"]).code(0);
    check(&case, &[], "c.adi", &["c.adi: 1 contact"], &["N0QRD"]);
    let both = ["KB0QSE", "N0QRD"];
    check(&case, &["--all"], "d.adi", &["2 contacts"], &both);
    check(&case, &["--trip", TRIP], "e.adi", &["2 contacts"], &both);
    check(&case, &["--trip", "1"], "f.adi", &["2 contacts"], &both);
}

#[test]
fn drafts_stay_at_home_and_it_says_so() {
    let case = confirmed();
    check(
        &case,
        &["--trip", "1"],
        "a.adi",
        &["1 draft was left out: only confirmed contacts are exported"],
        &["KB0QSE"],
    );
}

#[test]
fn what_was_corrected_afterwards_is_named() {
    let case = confirmed();
    check(&case, &[], "a.adi", &[], &["KB0QSE"]);
    case.run(&["confirm", "1", "--call", "KB0QSF"]).code(0);
    check(
        &case,
        &[],
        "b.adi",
        &["Changed since they were exported, and not exported again: 1"],
        &[],
    );
    check(&case, &["--all"], "c.adi", &[], &["KB0QSF"]);
    check(&case, &[], "d.adi", &["Nothing to export"], &[]);
}

#[test]
fn no_file_is_written_over() {
    let case = confirmed();
    case.write("mine.adi", "my only copy");
    case.run(&["export", "--format", "adif", "--out", "mine.adi"])
        .code(1)
        .says(&["mine.adi is there already", "--out"]);
    assert_eq!(case.read("mine.adi"), "my only copy");
    // Nothing was recorded as exported.
    check(&case, &[], "a.adi", &["1 contact"], &["KB0QSE"]);
}

#[test]
fn what_has_no_call_sign_never_goes_out() {
    let case = HomeCase::drafted();
    check(&case, &["--all"], "a.adi", &["Nothing to export"], &[]);
}
