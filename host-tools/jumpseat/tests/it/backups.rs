//! Backups of the logbook: made automatically, listed, restored.

use std::fs;

use crate::case::{HomeCase, names};

/// Two contacts, one of them corrected and the correction undone.
const LOG: &str = "<CALL:6>KB0QSE<QSO_DATE:8>20260514<TIME_ON:4>1504<EOR>
<CALL:5>K1QRM<QSO_DATE:8>20260514<TIME_ON:4>1604<EOR>
";

fn filled() -> HomeCase {
    let case = HomeCase::empty();
    case.write("a.adi", LOG);
    case.run(&["import", "a.adi"]).code(0);
    let right = ["confirm", "1", "--call", "KB0QSE", "--name", "Ruth"];
    assert!(matches!(case.run(&right).code, Some(0 | 3)));
    case.run(&["undo"]).code(0);
    case
}

fn seen(case: &HomeCase) -> (String, String) {
    let log = case.run(&["log", "--json"]);
    let undo = case.run(&["undo", "--list", "--json"]);
    (log.code(0).out.clone(), undo.code(0).out.clone())
}

#[test]
fn the_first_change_of_the_next_command_is_preceded_by_a_backup() {
    let case = filled();
    let listed = case.run(&["log", "--backups", "--json"]).code(0).json();
    assert_eq!(listed.as_array().unwrap().len(), 1);
    assert_eq!(listed[0]["why"], "day");
    case.run(&["log", "--backups"])
        .code(0)
        .says(&["before the day's first change", "log --restore"]);
    // Looking changes nothing, and makes none.
    let empty = HomeCase::empty();
    empty.run(&["log"]).code(0);
    empty
        .run(&["log", "--backups"])
        .code(0)
        .says(&["There is no backup in home/logbook-backups yet"]);
    assert!(!empty.home().exists());
}

/// Damages the logbook, sees it refused, restores it: all is as before.
#[track_caller]
fn check(damage: impl FnOnce(&HomeCase), says: &str) {
    let case = filled();
    let before = seen(&case);
    case.run(&["log", "--backup"])
        .code(0)
        .says(&["Made the backup home/logbook-backups/"]);
    damage(&case);
    let refused = case.run(&["log"]);
    refused.code(1).says(&[says, "log --restore", "--backups"]);
    // The command that it names is the one to type.
    let words = refused.error;
    let named = words.split('`').find(|part| part.contains("--restore"));
    let file = named.unwrap().split(' ').next_back().unwrap();
    for arguments in [
        &["import", "a.adi"][..],
        &["undo"],
        &["export", "--format", "adif"],
    ] {
        case.run(arguments).code(1).says(&[says]);
    }
    case.run(&["log", "--restore", file])
        .code(0)
        .says(&["Restored: 2 entries, last changed at"]);
    assert_eq!(seen(&case), before);
    case.run(&["undo", "3"]).code(0).says(&["Undone: undid"]);
    assert!(
        names(&case.home())
            .iter()
            .all(|name| !name.starts_with('.'))
    );
}

#[test]
fn a_lost_or_damaged_logbook_says_how_it_comes_back() {
    let at = |case: &HomeCase| case.at("home/logbook.sqlite");
    check(|case| fs::write(at(case), "").unwrap(), "has 0 bytes");
    check(|case| fs::remove_file(at(case)).unwrap(), "is gone");
    check(
        |case| case.write("home/logbook.sqlite", "dear friend"),
        "It is not a logbook",
    );
    check(
        |case| {
            let mut bytes = fs::read(at(case)).unwrap();
            bytes[4096..].fill(0x5a);
            fs::write(at(case), bytes).unwrap();
        },
        "it is damaged",
    );
}

#[test]
fn a_backup_goes_where_it_is_asked_to_and_never_over_a_file() {
    let case = filled();
    case.run(&["log", "--backup", "my copy.sqlite"]).code(0);
    case.run(&["log", "--backup", "my copy.sqlite"])
        .code(1)
        .says(&["my copy.sqlite is there already"]);
    let before = seen(&case);
    case.run(&["import", "a.adi"]).code(0);
    case.run(&["undo"]).code(0);
    let told = case.run(&["log", "--restore", "my copy.sqlite", "--json"]);
    assert_eq!(told.code(0).json()["entries"], 2);
    assert_eq!(seen(&case), before);
    for (file, says) in [
        ("away", "there is no backup away"),
        ("a.adi", "It is not a logbook"),
    ] {
        case.run(&["log", "--restore", file]).code(1).says(&[says]);
        assert_eq!(seen(&case), before);
    }
    case.run(&["log", "--restore", "x", "--call", "K"]).code(2);
    case.run(&["log", "--restore", "x", "--backups"]).code(2);
    HomeCase::empty()
        .run(&["log", "--backup"])
        .code(1)
        .says(&["there is no logbook"]);
}

#[test]
fn a_backup_that_fails_is_a_warning() {
    let case = filled();
    fs::remove_dir_all(case.at("home/logbook-backups")).unwrap();
    case.write("home/logbook-backups", "a file in its place");
    let undone = case.run(&["undo", "1"]);
    assert_eq!(undone.code, Some(0));
    undone.says(&[
        "warning: no backup of the logbook was made",
        "Undone: imported",
    ]);
}
