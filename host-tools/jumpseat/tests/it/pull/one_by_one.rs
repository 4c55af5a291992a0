//! A file that cannot be read is reported and tried again, and the others are copied.

use std::fs;

use serde_json::Value;

use super::JOURNAL;
use crate::case::{HomeCase, TRIP, copy_folder, names};

const SECOND: &str = "trip-000002-3fa2c1";

/// A card with two trips.
fn two_trips() -> HomeCase {
    let case = HomeCase::with_card();
    let second = case.at("card").join(SECOND);
    copy_folder(&case.card(), &second).unwrap();
    let path = second.join("trip.json");
    let header = fs::read_to_string(&path).unwrap();
    fs::write(path, header.replace("\"trip\":1,", "\"trip\":2,")).unwrap();
    case
}

#[test]
fn a_trip_without_a_journal_comes_and_the_note_says_so() {
    let case = HomeCase::with_card();
    fs::remove_file(case.card().join(JOURNAL)).unwrap();
    case.run(&["pull", "card"])
        .code(0)
        .says(&["16 files copied", "it has no journal"]);
    assert_eq!(names(&case.pulled().join("audio")).len(), 15);
}

/// Runs without the rights of an administrator, to whom no file is unreadable.
#[cfg(target_os = "linux")]
fn pull_as_nobody(case: &HomeCase, more: &[&str]) -> (String, Option<i32>) {
    use std::process::Command;
    let mut command = if is_root() {
        let mut command = Command::new("setpriv");
        command.args(["--reuid=65534", "--regid=65534", "--clear-groups", "--"]);
        command.arg(env!("CARGO_BIN_EXE_jumpseat"));
        command
    } else {
        Command::new(env!("CARGO_BIN_EXE_jumpseat"))
    };
    let command = command.args(["--home", "home", "pull", "card"]).args(more);
    let output = command.current_dir(case.at("")).output().unwrap();
    let said = String::from_utf8_lossy(&output.stdout).into_owned()
        + &String::from_utf8_lossy(&output.stderr);
    (said, output.status.code())
}

#[cfg(target_os = "linux")]
fn is_root() -> bool {
    use std::os::unix::fs::MetadataExt as _;
    fs::metadata("/proc/self").unwrap().uid() == 0
}

#[cfg(target_os = "linux")]
#[test]
fn what_may_not_be_read_is_listed_at_the_end_and_comes_with_the_next_pull() {
    use std::os::unix::fs::PermissionsExt as _;
    let case = two_trips();
    let set = |path: &std::path::Path, mode| {
        fs::set_permissions(path, fs::Permissions::from_mode(mode)).unwrap();
    };
    let bad = case.card().join("audio/000004-tx.flac");
    for folder in ["", "card", "home"] {
        fs::create_dir_all(case.at(folder)).unwrap();
        set(&case.at(folder), 0o777);
    }
    set(&bad, 0o000);
    let (said, code) = pull_as_nobody(&case, &[]);
    assert_eq!(code, Some(3), "{said}");
    let listed = format!("{TRIP}/audio/000004-tx.flac: cannot read");
    let at_the_end = said.split("Not copied; the next pull tries again:").nth(1);
    assert!(
        at_the_end.is_some_and(|end| end.contains(&listed)),
        "{said}"
    );
    assert!(said.contains("16 files copied"), "{said}");
    // Its good files are in the library, and so is the trip after it.
    assert_eq!(names(&case.pulled().join("audio")).len(), 14);
    assert!(case.home().join("trips").join(SECOND).exists());
    assert_eq!(names(&case.at("card/receipts")), [format!("{SECOND}.json")]);

    let (said, code) = pull_as_nobody(&case, &["--json"]);
    assert_eq!(code, Some(3), "{said}");
    let events: Vec<Value> = jumpseat_test_kit::json_lines(&said).unwrap();
    let failed: Vec<&Value> = events
        .iter()
        .filter(|event| event["result"] == "failed")
        .collect();
    assert_eq!(failed.len(), 1);
    assert!(failed[0]["error"].as_str().unwrap().contains("cannot read"));
    let end = events.last().unwrap();
    assert_eq!(end["failed"][0]["file"], "audio/000004-tx.flac");

    // A folder that may not be listed is as bad as all in it.
    set(&bad, 0o644);
    let audio = case.at("card").join(SECOND).join("audio");
    set(&audio, 0o000);
    let (said, code) = pull_as_nobody(&case, &[]);
    assert_eq!(code, Some(3), "{said}");
    assert!(
        said.contains("1 file copied") && said.contains("was not copied"),
        "{said}"
    );
    set(&audio, 0o755);
    let (said, code) = pull_as_nobody(&case, &[]);
    assert_eq!(code, Some(0), "{said}");
    assert_eq!(names(&case.at("card/receipts")).len(), 2);
}
