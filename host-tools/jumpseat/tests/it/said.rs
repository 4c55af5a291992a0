//! What was said: searched, shown with an entry, and stored by a draft.

use std::fs;

use serde_json::{Value, json};

use crate::case::{HomeCase, TRIP, names};

const FILE: &str = "home/heard/trip-000001-3fa2c1.said.json";
const DRIVE_FILE: &str = "home/heard/trip-000001-3fa2c1.json";

/// Words a second apart, from the first second of an over on; `word?` is a doubtful one.
fn words(start_s: f64, text: &str) -> Value {
    let words = text.split_whitespace().enumerate().map(|(index, word)| {
        let at_s = start_s + index as f64;
        let probability = if word.ends_with('?') { 0.2 } else { 0.9 };
        let text = word.trim_end_matches('?');
        json!({ "text": text, "span_s": [at_s, at_s + 0.5], "probability": probability })
    });
    words.collect()
}

/// The demo's home, where these texts were said in the overs of the first entry.
fn spoken(texts: &[&str]) -> HomeCase {
    let case = HomeCase::drafted();
    let log = case.run(&["log", "--json"]).code(0).json();
    let overs = log[0]["draft"]["overs"].as_array().unwrap();
    let overs = overs.iter().zip(texts).map(|(over, text)| {
        let mut over = over.clone();
        over["words"] = words(over["start_s"].as_f64().unwrap(), text);
        over
    });
    let file = json!({ "format": 1, "overs": overs.collect::<Vec<_>>() });
    case.write(FILE, file.to_string());
    case
}

#[test]
fn a_draft_stores_which_overs_were_written_down() {
    let case = HomeCase::drafted();
    let stored: Value = serde_json::from_str(&case.read(FILE)).unwrap();
    assert_eq!(stored["format"], 1);
    let log = case.run(&["log", "--json"]).code(0).json();
    let drafts = log.as_array().unwrap().iter();
    let of_entries = drafts.flat_map(|entry| entry["draft"]["overs"].as_array().unwrap());
    let begins = |over: &Value| over["start_s"].as_f64().unwrap();
    let stored: Vec<f64> = stored["overs"]
        .as_array()
        .unwrap()
        .iter()
        .map(begins)
        .collect();
    for over in of_entries {
        assert!(stored.contains(&begins(over)), "{over} of {stored:?}");
    }
}

#[test]
fn an_entry_is_found_by_what_was_said() {
    let case = spoken(&[
        "hello there seven three",
        "my new antenna? is a dipole",
        "up here",
    ]);
    case.run(&["log", "--said", "New", "ANTENNA"])
        .code(0)
        .says(&[
            "1* 15:04:28",
            "received: my new [antenna?] is a dipole",
            "[?] a doubtful word",
            "1 hit in 1 of 1 entry with a transcript",
            "1 entry has no transcript yet; `jumpseat --home home draft TRIP` writes it, for \
         trip-000001-3fa2c1.",
        ]);
    for (said, hits) in [
        (&["antenna"][..], 1),
        (&["anten*"], 1),
        (&["ante"], 0),
        (&["tenna"], 0),
        (&["new antenna"], 1),
        (&["73"], 1),
        // Two overs are two sentences.
        (&["three", "my"], 0),
        (&["dipole", "up"], 0),
        (&["antenna", "--call", "KB0"], 1),
        (&["antenna", "--call", "N0QRD"], 0),
        (&["antenna", "--trip", "1", "--from", "2026-05-14"], 1),
        (&["antenna", "--from", "2026-05-15"], 0),
        (&["antenna", "--last", "1"], 1),
    ] {
        let found = case.run(&[&["log", "--json", "--said"], said].concat());
        let found = found.code(0).json();
        assert_eq!(found["hits"].as_array().unwrap().len(), hits, "{said:?}");
    }
}

#[test]
fn a_hit_says_where_it_is() {
    let case = spoken(&["hello", "my new antenna? is a dipole"]);
    let found = case.run(&["log", "--json", "--said", "new antenna"]);
    let found = found.code(0).json();
    assert_eq!(found["said"], "new antenna");
    assert_eq!(
        found["searched"],
        json!({ "with_transcript": 1, "without_transcript": 1, "trips_to_draft": [TRIP] })
    );
    let hit = &found["hits"][0];
    let log = case.run(&["log", "--json"]).code(0).json();
    let over = &log[0]["draft"]["overs"][1];
    let start_s = over["start_s"].as_f64().unwrap();
    assert_eq!(hit["number"], 1);
    assert_eq!(hit["trip"], TRIP);
    assert_eq!(hit["call"], "KB0QSE");
    assert_eq!(hit["direction"], over["direction"]);
    assert!((hit["span_s"][0].as_f64().unwrap() - start_s - 1.0).abs() < 0.01);
    assert!((hit["span_s"][1].as_f64().unwrap() - start_s - 2.5).abs() < 0.01);
    assert!(
        hit["utc"]
            .as_str()
            .unwrap()
            .starts_with("2026-05-14T15:04:")
    );
    assert_eq!(hit["text"], "new antenna");
    assert_eq!(hit["probability"], 0.2);
    assert_eq!(hit["sentence"], "my new antenna is a dipole");
}

#[test]
fn an_entry_is_shown_with_its_text() {
    let case = spoken(&["hello there", "my new antenna?", ""]);
    case.run(&["log", "--entry", "1"]).code(0).says(&[
        "1* 15:04:28",
        "15:04:28 transmitted: hello there",
        "received: my new [antenna?]",
        "transmitted: no speech",
        "[?] a doubtful word",
    ]);
    let shown = case.run(&["log", "--entry", "1", "--json"]).code(0).json();
    assert_eq!(shown[0]["number"], 1);
    let overs = shown[0]["transcript"].as_array().unwrap();
    assert_eq!(overs.len(), 3);
    assert_eq!(overs[0]["direction"], "tx");
    assert_eq!(overs[0]["words"][1]["text"], "there");
    assert!(
        overs[0]["utc"]
            .as_str()
            .unwrap()
            .starts_with("2026-05-14T15:04:2")
    );
    case.run(&["log", "--entry", "2"])
        .code(0)
        .says(&["no transcript yet; `jumpseat --home home draft trip-000001-3fa2c1` writes it"]);
    let shown = case.run(&["log", "--entry", "2", "--json"]).code(0).json();
    assert!(shown[0]["transcript"].is_null());
    case.run(&["log", "--entry", "9"]).code(1).says(&["9"]);
}

#[test]
fn a_home_without_transcripts_says_what_to_do() {
    let case = HomeCase::drafted();
    let nothing = "'antenna' was not found in the transcripts of 0 entries.";
    fs::remove_file(case.at(FILE)).unwrap();
    case.run(&["log", "--said", "antenna"]).code(0).says(&[
        nothing,
        "2 entries have no transcript yet; `jumpseat --home home draft TRIP` writes it",
    ]);
    case.run(&["draft", "1"]).done();
    case.run(&["log", "--said", "antenna"])
        .code(0)
        .says(&["'antenna' was not found in the transcripts of 2 entries."]);
    fs::remove_file(case.at(FILE)).unwrap();
    case.write(
        "a.adi",
        "<CALL:6>KB0QSF<QSO_DATE:8>20250514<TIME_ON:4>1504<BAND:3>20m<MODE:3>SSB<EOR>",
    );
    case.run(&["import", "a.adi"]).code(0);
    case.run(&["log", "--said", "antenna"])
        .code(0)
        .says(&["1 entry has no transcript: imported, or without the whole sound of a trip."]);
    for (text, why) in [
        ("{", "is damaged"),
        ("{\"format\":2,\"overs\":[]}", "is of a newer jumpseat"),
    ] {
        case.write(FILE, text);
        let told = case.run(&["log", "--said", "antenna"]);
        told.ended(0).says(&[nothing, why, FILE]);
    }
    HomeCase::empty()
        .run(&["log", "--said", "antenna"])
        .code(0)
        .says(&[nothing]);
}

#[test]
fn what_cannot_be_looked_for_is_refused() {
    let case = HomeCase::empty();
    for (words, says) in [
        (&["?"][..], "'?' has no word to look for"),
        (&["*"], "a star is not at the end of a word"),
        (&["an*na"], "a star is not at the end of a word"),
        (&["a", "--duplicates"], "--duplicates"),
        (&["a", "--entry", "1"], "--entry"),
    ] {
        case.run(&[&["log", "--said"], words].concat())
            .code(2)
            .says(&[says]);
    }
}

#[test]
fn a_draft_is_made_with_its_text_and_hears_nothing_twice() {
    let case = HomeCase::drafted();
    let read = |path: &str| -> Value { serde_json::from_str(&case.read(path)).unwrap() };
    // Every word with the second at which its over begins.
    let words = |file: &Value, list: &str, word: &str| -> Vec<String> {
        let overs = file["overs"].as_array().unwrap().iter();
        overs
            .flat_map(|over| {
                let start_s = over["start_s"].as_f64().unwrap();
                let words = over.pointer(list).and_then(Value::as_array);
                let words = words.into_iter().flatten();
                words.map(move |one| format!("{start_s:.3} {}", one[word].as_str().unwrap()))
            })
            .collect()
    };
    let stored = read(FILE);
    let written = words(&stored, "/words", "text");
    let used = words(&read(DRIVE_FILE), "/heard/text", "word");
    assert!(!written.is_empty());
    assert_eq!(used, written);
    let files = || names(&case.at("home/heard"));
    let before = files();
    case.run(&["draft", TRIP]).code(0);
    assert_eq!(files(), before);
    assert_eq!(read(FILE), stored);
}
