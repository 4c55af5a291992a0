//! Two short drives that nothing was fitted to, simulated, recorded, heard and drafted by
//! the built programs, and held to floors a little under what `tests/judge-generated` measured.
//! The truth is the simulator's; the draft never sees it.

use std::fs;
use std::path::Path;
use std::process::Command;

use jumpseat_simulator::score::{DraftScore, ScoreSummary, score};
use jumpseat_test_kit::{DEMO_TRIP, TestHome, built, done, path_text};
use serde::de::DeserializeOwned;

/// What the drives must reach together.
struct DraftFloors {
    found: usize,
    right: usize,
    on_time: usize,
    invented_at_most: usize,
}

fn read<T: DeserializeOwned>(path: &Path) -> T {
    serde_json::from_slice(&fs::read(path).unwrap()).unwrap()
}

fn drafted(seed: u64, difficulty: &str) -> DraftScore {
    let home = TestHome::empty().unwrap();
    let drive = home.at("drive");
    let mut simulate = Command::new(built("drive").unwrap());
    simulate
        .args(["simulate", "--hours", "0.25", "--seed", &seed.to_string()])
        .args(["--difficulty", difficulty, "--out"]);
    done(simulate.arg(&drive)).unwrap();
    let trip = drive.join(DEMO_TRIP);
    let arguments = ["draft", path_text(&trip), "--json", "draft.json"];
    home.run(&arguments).done();
    score(
        &read(&drive.join("truth.json")),
        &read(&home.at("draft.json")),
    )
    .unwrap()
}

#[track_caller]
fn check(scores: &[DraftScore], floors: &DraftFloors) {
    let summary = ScoreSummary::from_scores(scores);
    for score in scores {
        println!("{score}");
    }
    println!(
        "figure: drives: {} of {} contacts found, {} invented, {} call signs right, {} starts within 2 s",
        summary.found,
        summary.contacts,
        summary.invented,
        summary.call.right,
        summary.on_within_2_s
    );
    assert!(summary.found >= floors.found, "{summary}");
    assert!(summary.call.right >= floors.right, "{summary}");
    assert!(summary.on_within_2_s >= floors.on_time, "{summary}");
    assert!(summary.invented <= floors.invented_at_most, "{summary}");
}

#[test]
fn short_drives_of_unseen_seeds_are_drafted_as_well_as_measured() {
    let seeds = [(2001, "easy"), (2002, "road")];
    let threads =
        seeds.map(|(seed, difficulty)| std::thread::spawn(move || drafted(seed, difficulty)));
    let scores = threads.map(|thread| thread.join().unwrap());
    check(
        &scores,
        &DraftFloors {
            found: 3,
            right: 3,
            on_time: 3,
            invented_at_most: 1,
        },
    );
}
