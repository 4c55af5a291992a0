//! The recorder restarted during a drive: two trips of one power-up.

use std::fs;

use jumpseat_core::journal::{BootId, JournalRecord, encode, verify};

use crate::case::{HomeCase, TRIP};

/// The demo's trip twice in the library, the second without any time fix.
fn twice(boot: &str) -> HomeCase {
    let case = HomeCase::with_card();
    case.run(&["pull", "card"]).code(0);
    let second = case.home().join("trips/trip-000002-3fa2c1");
    fs::create_dir(&second).unwrap();
    let first = case.pulled();
    let header = fs::read_to_string(first.join("trip.json")).unwrap();
    let own: serde_json::Value = serde_json::from_str(&header).unwrap();
    let header = header
        .replace("\"trip\":1,", "\"trip\":2,")
        .replace(own["boot"].as_str().unwrap(), boot);
    fs::write(second.join("trip.json"), header).unwrap();
    let journal = fs::read_to_string(first.join("journal.jsonl")).unwrap();
    // Every record carries the power-up, and outvotes trip.json.
    let kept = journal.lines().filter(|line| !line.contains("time_fix"));
    let lines = kept.map(|line| {
        let mut record: JournalRecord =
            serde_json::from_slice(verify(line.as_bytes()).unwrap()).unwrap();
        record.boot = BootId::try_from(boot).unwrap();
        encode(&record).unwrap().to_vec()
    });
    let lines = lines.collect::<Vec<_>>().concat();
    fs::write(second.join("journal.jsonl"), lines).unwrap();
    case
}

/// When the second trip began, as the list has it.
fn start_of_second(case: &HomeCase) -> serde_json::Value {
    let trips = case.run(&["trips", "--json"]).json();
    assert_eq!(trips[0]["trip"], TRIP);
    trips[1]["start"].clone()
}

#[test]
fn a_trip_without_a_fix_has_its_time_from_the_trip_before_of_the_same_power_up() {
    let case = HomeCase::with_card();
    let header = fs::read_to_string(case.card().join("trip.json")).unwrap();
    let own: serde_json::Value = serde_json::from_str(&header).unwrap();
    let start = start_of_second(&twice(own["boot"].as_str().unwrap()));
    assert!(start.as_str().unwrap().starts_with("2026-05-14T15:02:1"));
}

#[test]
fn a_trip_of_another_power_up_lends_nothing() {
    assert!(start_of_second(&twice("00000000")).is_null());
}
