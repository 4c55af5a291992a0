//! What a person does at home: pull, draft, confirm, export.

use std::path::{Path, PathBuf};
use std::process::Command;

use jumpseat_simulator::score::{DraftFile, Score, Verdict};
use jumpseat_simulator::truth::Truth;
use jumpseat_tests::tools;
use serde::Deserialize;

/// Times of a draft may be this far from the truth.
const SECONDS: f64 = 1.0;
/// Places too: the receiver wanders by a few metres and reports once a second.
const METRES: f64 = 100.0;

/// The numbers that the logbook gave to the entries.
#[derive(Debug, Deserialize)]
pub(crate) struct Numbers {
    drafts: Vec<Number>,
}

#[derive(Debug, Deserialize)]
struct Number {
    number: i64,
}

/// Runs `jumpseat`, for all to see.
fn jumpseat(home: &Path, arguments: &[&str]) -> String {
    let mut command = Command::new(tools::built("jumpseat").unwrap());
    command.arg("--home").arg(home).args(arguments);
    let out = tools::done(&mut command).unwrap();
    println!("$ jumpseat {}\n{out}", arguments.join(" "));
    out
}

/// Pulls the card and drafts its only trip.
pub(crate) fn draft(home: &Path, card: &Path) -> (DraftFile, Numbers) {
    jumpseat(home, &["pull", card.to_str().unwrap()]);
    jumpseat(home, &["check", "1"]);
    let json = home.with_extension("json");
    jumpseat(home, &["draft", "1", "--json", json.to_str().unwrap()]);
    let text = std::fs::read_to_string(json).unwrap();
    (
        serde_json::from_str(&text).unwrap(),
        serde_json::from_str(&text).unwrap(),
    )
}

/// The draft is right in every field that needs no hearing and in the call sign; of the
/// rest, what was said is at least among the readings.
pub(crate) fn check(name: &str, score: &Score) {
    assert_eq!((score.contacts, score.found), (2, 2), "{score}");
    assert!(score.invented.is_empty() && score.looks == 0, "{score}");
    for found in &score.matched {
        let (on, off) = (found.on_error_s.unwrap(), found.off_error_s.unwrap());
        assert!(on.abs() < SECONDS && off.abs() < SECONDS, "{score}");
        assert!(found.place_error_m.unwrap() < METRES, "{score}");
        assert_eq!(
            [found.hz, found.mode, found.locator],
            [Verdict::Right; 3],
            "{score}"
        );
        assert_eq!(found.call, Verdict::Right, "{score}");
        for heard in [found.sent, found.received, found.name] {
            assert_ne!(heard, Verdict::Wrong, "{score}");
        }
        println!(
            "figure: {name}: {} found: on {on:+.2} s, off {off:+.2} s, place {:.0} m off; frequency, mode and locator right",
            found.contact,
            found.place_error_m.unwrap()
        );
    }
}

/// Says what was said, as a listener would, and exports.
pub(crate) fn confirm_and_export(home: &Path, truth: &Truth, numbers: &Numbers) -> PathBuf {
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
        jumpseat(
            home,
            &[
                &words[..],
                &[
                    "--received",
                    contact.received.as_deref().unwrap_or_default(),
                    "--name",
                    name,
                ],
            ]
            .concat(),
        );
    }
    let adif = home.with_extension("adi");
    jumpseat(
        home,
        &[
            "export",
            "--format",
            "adif",
            "--out",
            adif.to_str().unwrap(),
        ],
    );
    adif
}
