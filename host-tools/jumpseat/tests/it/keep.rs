//! Keep: which sound is packed, and which is removed.

use std::fs;

use crate::case::{HomeCase, TRIP, names};

/// Every file of the pulled trip, with its bytes.
fn contents(case: &HomeCase) -> Vec<(String, Vec<u8>)> {
    let mut all = Vec::new();
    for folder in ["", "audio"] {
        for name in names(&case.pulled().join(folder)) {
            let path = case.pulled().join(folder).join(&name);
            if path.is_file() {
                all.push((format!("{folder}/{name}"), fs::read(path).unwrap()));
            }
        }
    }
    all
}

/// Runs these; the trip is as it was.
#[track_caller]
fn check_untouched(case: &HomeCase, arguments: &[&str], code: i32, says: &[&str]) {
    let before = contents(case);
    case.run(arguments).code(code).says(says);
    assert!(contents(case) == before, "{arguments:?} touched the trip");
}

/// The demo's trip with WAV files in place of its FLAC, drafted; the first contact
/// is confirmed and the second one is called none.
fn decided() -> HomeCase {
    let case = HomeCase::drafted();
    crate::case::unpack(&case.pulled());
    case.run(&["confirm", "1", "--call", "KB0QSE"]).code(0);
    case
}

#[test]
fn nothing_goes_without_the_setting() {
    let case = HomeCase::after_demo();
    crate::case::unpack(&case.pulled());
    check_untouched(
        &case,
        &["keep"],
        0,
        &[
            "`jumpseat --home home keep --days 90`",
            "`jumpseat --home home keep --now`",
        ],
    );
    check_untouched(&case, &["keep", "--now"], 2, &["set it with --days"]);
}

#[test]
fn nothing_goes_before_the_preview_was_answered() {
    let case = HomeCase::after_demo();
    crate::case::unpack(&case.pulled());
    let says = [
        "2 contacts:",
        "to pack without loss",
        "to remove",
        "Nothing was changed. `jumpseat --home home keep --now`",
    ];
    check_untouched(&case, &["keep", "--days", "1"], 0, &says);
    assert_eq!(case.read("home/station.toml"), "keep_whole_days = 1\n");
    case.run(&["keep", "--forever"])
        .code(0)
        .says(&["kept for ever"]);
    check_untouched(&case, &["keep", "--now"], 2, &[]);
}

#[test]
fn a_trip_with_anything_undecided_stays_whole() {
    let case = decided();
    let says = ["kept complete: some of its entries are undecided"];
    check_untouched(&case, &["keep", "--days", "1", "--now"], 0, &says);
}

#[test]
fn a_trip_of_which_nothing_is_confirmed_or_drafted_stays_whole() {
    let case = HomeCase::drafted();
    crate::case::unpack(&case.pulled());
    let says = ["kept complete"];
    check_untouched(&case, &["keep", "--days", "1", "--now"], 0, &says);
    let case = HomeCase::with_card();
    case.run(&["pull", "card"]).code(0);
    crate::case::unpack(&case.pulled());
    let says = ["kept complete: it is not drafted yet"];
    check_untouched(&case, &["keep", "--days", "1", "--now"], 0, &says);
}

#[test]
fn a_young_trip_stays_whole() {
    let case = HomeCase::after_demo();
    crate::case::unpack(&case.pulled());
    let says = ["kept complete: it is not old enough"];
    check_untouched(&case, &["keep", "--days", "100000", "--now"], 0, &says);
}

#[test]
fn confirmed_contacts_still_sound_the_same_and_nothing_is_fetched_again() {
    let case = HomeCase::after_demo();
    crate::case::unpack(&case.pulled());
    // A long silence before the first contact, far from it.
    let clips = ["export", "--format", "clips", "--trip", TRIP, "--out"];
    case.run(&[&clips[..], &["before"]].concat()).code(0);
    case.run(&["keep", "--days", "1", "--now"])
        .code(0)
        .says(&["freed."]);
    let left = names(&case.pulled().join("audio"));
    assert!(
        !left.is_empty() && left.iter().all(|name| name.ends_with(".flac")),
        "{left:?}"
    );
    case.run(&[&clips[..], &["after"]].concat()).code(0);
    let sounds = names(&case.at("before"));
    assert_eq!(names(&case.at("after")), sounds);
    assert_eq!(
        sounds.iter().filter(|name| name.ends_with(".wav")).count(),
        2
    );
    for name in sounds.iter().filter(|name| name.ends_with(".wav")) {
        let (before, after) = (case.at("before").join(name), case.at("after").join(name));
        assert!(
            fs::read(before).unwrap() == fs::read(after).unwrap(),
            "{name}"
        );
    }
    // No damage, and the second time there is nothing to do.
    let check = case.run(&["check", TRIP]);
    // The test itself took the FLAC files of the demo's card away, which their checksums show.
    let said = check.out.clone();
    let damage = said.lines().find(|line| {
        let of_checksums = ["  changed ", "  checksums "];
        line.contains("missing") && !of_checksums.iter().any(|begin| line.starts_with(begin))
    });
    assert_eq!(damage, None, "{said}");
    check_untouched(
        &case,
        &["keep", "--now"],
        0,
        &["done: the confirmed contacts are kept"],
    );
    case.run(&["draft", TRIP])
        .code(1)
        .says(&["reduced to the sound of confirmed contacts"]);
}
