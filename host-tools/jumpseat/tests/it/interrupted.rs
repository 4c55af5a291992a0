//! Interrupted commands: no half-done work, no files left behind.

use std::path::Path;
use std::process::{Child, Command};
use std::thread::sleep;
use std::time::{Duration, Instant};

use crate::case::{HomeCase, names};

fn hidden(folder: &Path) -> Vec<String> {
    let mut names = names(folder);
    names.retain(|name| name.starts_with(".jumpseat-"));
    names
}

fn signal(child: &Child, name: &str) {
    let sent = Command::new("kill")
        .arg(name)
        .arg(child.id().to_string())
        .status();
    assert!(sent.unwrap().success());
}

/// Starts writing a trip's sound and ends it with a signal while it writes.
fn export_ended_by(case: &HomeCase, name: &str) {
    let arguments = [
        "export", "--format", "segments", "--trip", "1", "--out", "sound",
    ];
    let mut child = case.start(&arguments);
    let began = Instant::now();
    while hidden(&case.at("")).is_empty() {
        assert!(began.elapsed() < Duration::from_secs(60));
        sleep(Duration::from_millis(1));
    }
    signal(&child, name);
    let ended = child.wait().unwrap();
    assert!(!ended.success());
    assert!(!case.at("sound").exists());
}

#[test]
fn an_export_that_is_ended_leaves_nothing_or_the_next_one_removes_it() {
    let case = HomeCase::with_card();
    case.run(&["pull", "card"]).code(0);
    for name in ["-INT", "-TERM", "-HUP"] {
        export_ended_by(&case, name);
        assert_eq!(hidden(&case.at("")), [""; 0], "{name}");
    }
    export_ended_by(&case, "-KILL");
    assert_eq!(hidden(&case.at("")).len(), 1);
    // Of a file too, and what is not ours stays.
    case.write(".jumpseat-abc123", "half a log");
    case.write(".jumpseat-notes", "mine");
    case.write(
        "a.adi",
        "<CALL:6>KB0QSE<QSO_DATE:8>20260514<TIME_ON:4>1504<EOR>",
    );
    case.run(&["import", "a.adi"]).code(0);
    let adif = ["export", "--format", "adif", "--all", "--out", "b.adi"];
    case.run(&adif).code(0);
    assert_eq!(hidden(&case.at("")), [".jumpseat-notes"]);
}

/// What an import adds that takes many times as long as the first delay.
const MANY: usize = 120_000;

/// From when the import has the logbook open to when it is ended. On a busy machine this test
/// may wait so much longer that the import is done, so the next attempt is ended sooner.
const DELAYS_MS: [u64; 8] = [250, 120, 60, 30, 15, 7, 3, 0];

/// Starts to import `file` into a fresh home and ends it with a signal. What it imports is in
/// the log wholly or not at all; gives whether it was ended before it was there.
fn import_ended_by(name: &str, file: &Path, delay: Duration) -> bool {
    let case = HomeCase::empty();
    case.write(
        "a.adi",
        "<CALL:6>KB0QSE<QSO_DATE:8>20260514<TIME_ON:4>1504<EOR>",
    );
    case.run(&["import", "a.adi"]).code(0);
    let log = || case.run(&["log", "--json"]).code(0).out.clone();
    let before = log();
    let mut child = case.start(&["import", file.to_str().unwrap()]);
    let shared = case.at("home/logbook.sqlite-shm");
    let began = Instant::now();
    let mut done = None;
    while !shared.exists() && done.is_none() {
        assert!(began.elapsed() < Duration::from_secs(60));
        sleep(Duration::from_millis(1));
        done = child.try_wait().unwrap();
    }
    if done.is_none() {
        sleep(delay);
        signal(&child, name);
    }
    let done = child.wait().unwrap().success();
    let after = log();
    assert_eq!(hidden(&case.home()), [""; 0], "{name}");
    let nothing = after == before;
    assert!(!(done && nothing), "{name}: it said that it was done");
    if !nothing {
        let entries: Vec<serde_json::Value> = serde_json::from_str(&after).unwrap();
        assert_eq!(entries.len(), MANY + 1, "{name}");
    }
    nothing
}

#[test]
fn an_import_that_is_ended_is_in_the_log_wholly_or_not_at_all() {
    let records: Vec<String> = (0..MANY)
        .map(|n| {
            let (month, day) = (n / 1440 / 28 + 1, n / 1440 % 28 + 1);
            let (hour, minute) = (n / 60 % 24, n % 60);
            format!(
                "<CALL:5>K1QRM<QSO_DATE:8>2025{month:02}{day:02}<TIME_ON:4>{hour:02}{minute:02}<EOR>\n"
            )
        })
        .collect();
    let files = HomeCase::empty();
    files.write("many.adi", records.concat());
    let many = files.at("many.adi");
    for name in ["-INT", "-KILL"] {
        let ended = DELAYS_MS
            .iter()
            .any(|delay| import_ended_by(name, &many, Duration::from_millis(*delay)));
        assert!(ended, "{name}: each was done before it could be ended");
    }
}
