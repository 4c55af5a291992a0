//! What was said in the overs of an entry.

use jumpseat_entries::{OverTranscript, SaidWord, TripTranscript};

use crate::samples::draft;

fn over(direction: &str, start_s: f64, words: &[(&str, f64)]) -> OverTranscript {
    OverTranscript {
        direction: direction.into(),
        start_s,
        end_s: start_s + 600.0,
        words: words
            .iter()
            .map(|&(text, at_s)| SaidWord {
                text: text.into(),
                span_s: (at_s, at_s + 0.5),
                probability: 0.9,
            })
            .collect(),
    }
}

/// The texts of a draft's overs, which last from second 5 to second 30.
#[track_caller]
fn check(overs: Vec<OverTranscript>, expected: &[&str]) {
    let said = TripTranscript::new(overs).of_draft(&draft());
    let texts: Vec<String> = said
        .iter()
        .map(|over| {
            let words = over.words.iter().map(|word| word.text.as_str());
            words.collect::<Vec<_>>().join(" ")
        })
        .collect();
    assert_eq!(texts, expected);
}

#[test]
fn an_entry_has_the_overs_of_its_draft() {
    check(Vec::new(), &[]);
    check(
        vec![
            over("rx", 1.0, &[("before", 6.0)]),
            over("tx", 5.0, &[("kilo", 6.0), ("bravo", 7.0)]),
            over("rx", 10.0, &[]),
            over("rx", 20.0, &[("other", 21.0)]),
        ],
        &["kilo bravo", ""],
    );
    // Times are rounded when they are stored.
    check(vec![over("tx", 5.0009, &[("kilo", 6.0)])], &["kilo"]);
}

#[test]
fn what_was_said_long_before_or_after_is_not_the_entrys() {
    let words = [
        ("early", 2.0),
        ("first", 2.6),
        ("last", 31.9),
        ("late", 32.0),
    ];
    check(vec![over("rx", 10.0, &words)], &["first last"]);
}

#[test]
fn seconds_have_the_time_of_the_draft() {
    let mut draft = draft();
    let time = |text: &str| text.parse().ok();
    assert_eq!(draft.utc_at(5.0), time("2026-05-14T15:04:28Z"));
    assert_eq!(draft.utc_at(12.25), time("2026-05-14T15:04:35.25Z"));
    assert_eq!(draft.utc_at(3.0), time("2026-05-14T15:04:26Z"));
    for never in [f64::MAX, f64::MIN, f64::INFINITY] {
        assert_eq!(draft.utc_at(never), None);
    }
    draft.on.value = None;
    assert_eq!(draft.utc_at(5.0), None);
}

#[test]
fn what_was_written_is_read_again_and_a_newer_form_is_known() {
    let written = TripTranscript::new(vec![over("tx", 5.0, &[("kilo", 6.0)])]);
    let text = serde_json::to_string(&written).unwrap();
    let read: TripTranscript = serde_json::from_str(&text).unwrap();
    assert_eq!(read, written);
    assert!(read.is_known_format());
    let newer = text.replace("\"format\":1", "\"format\":2");
    let read: TripTranscript = serde_json::from_str(&newer).unwrap();
    assert!(!read.is_known_format());
}
