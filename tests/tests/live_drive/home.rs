//! What a person does at home: pull, draft, confirm, export.

use std::fs;
use std::path::{Path, PathBuf};

use jumpseat_simulator::score::{DraftScore, FieldVerdict, ScoredDraft};
use jumpseat_simulator::truth::DriveTruth;
use jumpseat_test_kit::{TestHome, path_text};
use serde::Deserialize;

/// Times of a draft may be this far from the truth.
const MOST_TIME_ERROR_S: f64 = 1.0;
/// Places too: the receiver wanders by a few metres and reports once a second.
const MOST_PLACE_ERROR_M: f64 = 100.0;

/// The numbers that the logbook gave to the entries.
#[derive(Debug, Deserialize)]
pub(crate) struct DraftNumbers {
    drafts: Vec<DraftNumber>,
}

#[derive(Debug, Deserialize)]
struct DraftNumber {
    number: i64,
}

/// Runs the home tool, which must succeed, and prints what it printed.
fn jumpseat(home: &TestHome, arguments: &[&str]) {
    let reply = home.run(arguments);
    println!("$ jumpseat {}\n{}", arguments.join(" "), reply.done().out);
}

/// Pulls the card and drafts its only trip.
pub(crate) fn draft(home: &TestHome, card: &Path) -> (ScoredDraft, DraftNumbers) {
    jumpseat(home, &["pull", path_text(card)]);
    jumpseat(home, &["check", "1"]);
    jumpseat(home, &["draft", "1", "--json", "draft.json"]);
    let text = fs::read_to_string(home.at("draft.json")).unwrap();
    (
        serde_json::from_str(&text).unwrap(),
        serde_json::from_str(&text).unwrap(),
    )
}

/// The draft is right in every field that needs no hearing and in the call sign; of the
/// rest, what was said is at least among the readings.
pub(crate) fn check(name: &str, score: &DraftScore) {
    assert_eq!((score.contacts, score.found), (2, 2), "{score}");
    assert!(score.invented.is_empty() && score.looks == 0, "{score}");
    for found in &score.matched {
        let (on, off) = (found.on_error_s.unwrap(), found.off_error_s.unwrap());
        assert!(
            on.abs() < MOST_TIME_ERROR_S && off.abs() < MOST_TIME_ERROR_S,
            "{score}"
        );
        assert!(found.place_error_m.unwrap() < MOST_PLACE_ERROR_M, "{score}");
        assert_eq!(
            [found.hz, found.mode, found.locator],
            [FieldVerdict::Right; 3],
            "{score}"
        );
        assert_eq!(found.call, FieldVerdict::Right, "{score}");
        for heard in [found.sent, found.received, found.name] {
            assert_ne!(heard, FieldVerdict::Wrong, "{score}");
        }
        println!(
            "figure: {name}: {} found: on {on:+.2} s, off {off:+.2} s, place {:.0} m off; frequency, mode and locator right",
            found.contact,
            found.place_error_m.unwrap()
        );
    }
}

/// Says what was said, as a listener would, and exports.
pub(crate) fn confirm_and_export(
    home: &TestHome,
    truth: &DriveTruth,
    numbers: &DraftNumbers,
) -> PathBuf {
    assert_eq!(numbers.drafts.len(), truth.contacts.len());
    for (entry, contact) in numbers.drafts.iter().zip(&truth.contacts) {
        let number = entry.number.to_string();
        let name = contact.name.as_deref().unwrap_or_default();
        let words = [
            "confirm",
            &number,
            "--call",
            &contact.call,
            "--sent",
            contact.sent.as_deref().unwrap_or_default(),
        ];
        let received = contact.received.as_deref().unwrap_or_default();
        let more = ["--received", received, "--name", name];
        jumpseat(home, &[&words[..], &more].concat());
    }
    let export = ["export", "--format", "adif", "--out", "contacts.adi"];
    jumpseat(home, &export);
    home.at("contacts.adi")
}
