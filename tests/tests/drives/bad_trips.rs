//! One drive on which everything fails that can: the draft says what it does not know,
//! and makes nothing up.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use jumpseat_simulator::plan::DrivePlan;
use jumpseat_simulator::scenario;
use jumpseat_simulator::score::{ScoreSummary, score};
use jumpseat_simulator::script::{self, DriveScriptEvent, ScriptInput};
use jumpseat_simulator::trip_recording;
use jumpseat_simulator::truth::DriveTruth;
use jumpseat_test_kit::{TestHome, path_text};
use serde_json::Value;

/// The demo drive's script, spoken once. The stations are its truth.
static SCRIPT: LazyLock<(tempfile::TempDir, DrivePlan)> = LazyLock::new(|| {
    let folder = tempfile::tempdir().unwrap();
    let plan = DrivePlan::lay_out(scenario::demo(1), &mut |_| ()).unwrap();
    script::write(&plan, folder.path(), &mut |_| ()).unwrap();
    (folder, plan)
});

/// What fails.
struct BadTripFailure {
    /// Which inputs the recorder gets.
    input: fn(&DriveScriptEvent) -> bool,
    /// What becomes of the sound.
    sound: fn(i16) -> i16,
    /// What becomes of the trip afterwards.
    trip: fn(&Path),
}

const NONE: BadTripFailure = BadTripFailure {
    input: |_| true,
    sound: |sample| sample,
    trip: |_| (),
};

fn recorded(failure: &BadTripFailure, card: &Path) -> PathBuf {
    let (script, plan) = &*SCRIPT;
    let changed = tempfile::tempdir().unwrap();
    let events = script::read_events(script.path()).unwrap();
    let lines: String = events
        .iter()
        .filter(|event| (failure.input)(event))
        .map(|event| serde_json::to_string(event).unwrap() + "\n")
        .collect();
    fs::write(changed.path().join(script::EVENTS_FILE), lines).unwrap();
    let from = hound::WavReader::open(script.path().join(script::SOUND_FILE)).unwrap();
    let to = changed.path().join(script::SOUND_FILE);
    let mut writer = hound::WavWriter::create(to, from.spec()).unwrap();
    for sample in from.into_samples::<i16>() {
        writer
            .write_sample((failure.sound)(sample.unwrap()))
            .unwrap();
    }
    writer.finalize().unwrap();
    let recorded = trip_recording::record(changed.path(), &plan.scenario.station, card);
    let trip = recorded.unwrap().trip;
    (failure.trip)(&trip);
    trip
}

/// Drafts the drive with this failure. `says` must stand in the doubts; `unknown` are the
/// fields that nobody can know then; every other value of a contact must be the truth.
#[track_caller]
fn check(name: &str, failure: &BadTripFailure, contacts: usize, unknown: &[&str], says: &[&str]) {
    let card = tempfile::tempdir().unwrap();
    let trip = recorded(failure, card.path());
    let home = TestHome::in_folder(card.path());
    let reply = home.run(&["draft", path_text(&trip), "--json", "-"]);
    // 0 is "without a doubt", 3 "done, with doubts".
    let without = says.is_empty() && reply.code == Some(0);
    assert!(without || reply.code == Some(3), "{name}: {}", reply.error);
    let draft = reply.json();
    let found: Vec<&Value> = draft["drafts"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|draft| draft["kind"] == "contact")
        .collect();
    assert_eq!(found.len(), contacts, "{name}: {draft:#}");
    let text = draft.to_string();
    for words in says {
        assert!(
            text.contains(words),
            "{name} does not say '{words}': {draft:#}"
        );
    }
    for draft in found {
        for field in unknown {
            assert!(
                draft[field]["value"].is_null(),
                "{name}: {field} in {draft:#}"
            );
        }
    }
    let truth = DriveTruth::read(SCRIPT.0.path()).unwrap();
    let judged = score(&truth, &serde_json::from_value(draft).unwrap()).unwrap();
    let summary = ScoreSummary::from_scores(&[judged]);
    assert_eq!(summary.invented, 0, "{name}: {summary}");
    for wrong in [
        summary.call.wrong,
        summary.sent.wrong,
        summary.received.wrong,
        summary.name.wrong,
        summary.hz.wrong,
        summary.locator.wrong,
    ] {
        assert_eq!(wrong, 0, "{name}: {summary}");
    }
    println!("{name}: {contacts} contacts, nothing invented");
}

#[test]
fn a_draft_of_a_bad_trip_has_doubts_and_nothing_invented() {
    check("as it was", &NONE, 2, &[], &[]);
    check(
        "never a fix",
        &BadTripFailure {
            input: |event| !matches!(event.input, ScriptInput::Nmea(_)),
            ..NONE
        },
        2,
        &["on", "off", "locator", "lat", "lon", "area"],
        &["no position fix", "relative only"],
    );
    check(
        "the dial is silent",
        &BadTripFailure {
            input: |event| !matches!(event.input, ScriptInput::Dial(_)),
            ..NONE
        },
        2,
        &["hz", "mode", "band"],
        &["rig control"],
    );
    check(
        "the key line is stuck down",
        &BadTripFailure {
            input: |event| !matches!(event.input, ScriptInput::Ptt(false)),
            ..NONE
        },
        0,
        &[],
        &["the key line was down for"],
    );
    check(
        "the key line is broken",
        &BadTripFailure {
            input: |event| !matches!(event.input, ScriptInput::Ptt(_)),
            ..NONE
        },
        0,
        &[],
        &["the key line was never down"],
    );
    check(
        "so low that speech drowns",
        &BadTripFailure {
            sound: |sample| sample / 2000,
            ..NONE
        },
        0,
        &["call", "sent", "received", "name"],
        &["receive audio is too low"],
    );
    check(
        "a sound file is damaged",
        &BadTripFailure {
            trip: |trip| fs::write(trip.join("audio/000005-rx.wav"), "not sound").unwrap(),
            ..NONE
        },
        2,
        &[],
        &["000005-rx.wav"],
    );
}
