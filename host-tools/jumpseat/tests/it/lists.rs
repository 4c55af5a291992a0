//! The lists: for people, for programs, and empty ones.

use jumpseat_entries::EntryVerdict;
use jumpseat_logbook::Logbook;

use crate::case::{HomeCase, TRIP};

#[test]
fn a_list_of_nothing_makes_nothing() {
    let case = HomeCase::empty();
    case.run(&["log"])
        .code(0)
        .says(&["The logbook is empty", "`jumpseat --home home draft TRIP`"]);
    case.run(&["trips"]).code(0).says(&[
        "There is no trip in home/trips yet",
        "`jumpseat --home home pull FOLDER`",
    ]);
    for list in [["log", "--json"], ["trips", "--json"]] {
        assert_eq!(case.run(&list).code(0).out, "[]\n");
    }
    case.run(&["export", "--format", "adif"])
        .code(0)
        .says(&["Nothing to export"]);
    assert!(!case.home().exists());
}

#[test]
fn trips_and_what_became_of_them() {
    let case = HomeCase::with_card();
    case.run(&["pull", "card"]).code(0);
    case.run(&["trips"])
        .code(0)
        .says(&[&format!("{TRIP} W7QTM 2026-05-14 15:02 5:17 7 2 -")]);
    assert!(!case.at("home/logbook.sqlite").exists());
    case.run(&["draft", "1"]).done();
    case.run(&["confirm", "2", "--call", "N0QRD"]).code(0);
    let trips = case.run(&["trips", "--json"]).code(0).json();
    assert_eq!(trips[0]["trip"], TRIP);
    assert_eq!(trips[0]["board"], "3fa2c1");
    assert_eq!(trips[0]["operator"], "W7QTM");
    assert_eq!(trips[0]["entries"], 2);
    assert_eq!(trips[0]["confirmed"], 1);
    case.run(&["trips"]).code(0).says(&["1 of 2"]);
    // What a person called no contact is none that could be confirmed.
    let mut logbook = Logbook::open(&case.at("home/logbook.sqlite")).unwrap();
    let seen = logbook.seen(1).unwrap();
    logbook
        .decide(1, seen, Some(EntryVerdict::NotAContact))
        .unwrap();
    drop(logbook);
    case.run(&["trips"]).code(0).says(&["1 of 1"]);
    case.run(&["log"])
        .code(0)
        .says(&["1*x 15:04:28", "x no contact: you rejected it"]);
    // It goes out with nothing, and nobody is asked to confirm it.
    let drafts = [
        "export", "--format", "csv", "--trip", "1", "--drafts", "--json",
    ];
    let told = case.run(&drafts).code(0).json();
    assert_eq!(told["entries"], serde_json::json!([2]));
    let again = case.run(&["draft", "1"]).code(0).out.clone();
    assert!(!again.contains("confirm 1"), "{again}");
}

#[test]
fn a_folder_that_is_no_trip_does_not_hide_the_others() {
    let case = HomeCase::with_card();
    case.run(&["pull", "card"]).code(0);
    std::fs::create_dir(case.at("home/trips/trip-000002-3fa2c1")).unwrap();
    case.run(&["trips"])
        .code(3)
        .says(&[TRIP, "trip-000002-3fa2c1"]);
}

#[test]
fn the_log_of_one_trip() {
    let case = HomeCase::drafted();
    for name in ["1", TRIP] {
        let log = case.run(&["log", "--trip", name, "--json"]).code(0).json();
        assert_eq!(log.as_array().unwrap().len(), 2);
    }
    case.run(&["log", "--trip", "trip-000009-3fa2c1"])
        .code(0)
        .says(&["no entry of trip-000009-3fa2c1", "no such trip"]);
    std::fs::create_dir(case.at("home/trips/trip-000001-3fa2c2")).unwrap();
    case.run(&["log", "--trip", "trip-000001"])
        .code(1)
        .says(&["trip-000001 matches several trips: trip-000001-3fa2c1, trip-000001-3fa2c2"]);
    std::fs::remove_dir(case.at("home/trips/trip-000001-3fa2c2")).unwrap();
    case.run(&["log", "--trip", "9"]).code(1).says(&[
        "there is no trip or folder 9. The last trip in home/trips is trip-000001-3fa2c1",
        "`jumpseat --home home trips`",
    ]);
    case.run(&["log"]).code(0).says(&[
        "2026-05-14",
        "* you pressed the mark",
        "2 entries, 0 confirmed",
    ]);
}
