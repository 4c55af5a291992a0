//! A home is private; an exported file is not.

use std::fs::{self, Permissions};
use std::os::unix::fs::PermissionsExt as _;

use crate::case::HomeCase;

#[track_caller]
fn modes(case: &HomeCase, expected: &[(&str, u32)]) {
    for (path, mode) in expected {
        let data = fs::metadata(case.at(path)).unwrap();
        let found = data.permissions().mode() & 0o7777;
        assert_eq!(found, *mode, "{path}: {found:o}");
    }
}

const LOG: &str = "<CALL:6>KB0QSE<QSO_DATE:8>20260514<TIME_ON:4>1504<EOR>\n";

const CLOSED: [(&str, u32); 5] = [
    ("home", 0o700),
    ("home/trips", 0o700),
    ("home/logbook.sqlite", 0o600),
    ("home/logbook-backups", 0o700),
    ("home/heard", 0o700),
];

fn filled() -> HomeCase {
    let case = HomeCase::with_card();
    case.run(&["pull", "card"]).code(0);
    case.write("a.adi", LOG);
    case.run(&["import", "a.adi"]).code(0);
    case.run(&["log", "--backup"]).code(0);
    case
}

fn set(case: &HomeCase, path: &str, mode: u32) {
    fs::set_permissions(case.at(path), Permissions::from_mode(mode)).unwrap();
}

#[test]
fn what_is_made_is_its_owners_and_what_is_exported_is_not() {
    let case = filled();
    modes(&case, &CLOSED[..4]);
    let out = ["export", "--format", "adif", "--all", "--out", "out/a.adi"];
    case.run(&out).code(0);
    modes(&case, &[("out/a.adi", 0o644)]);
    let segments = [
        "export", "--format", "segments", "--trip", "1", "--out", "sound",
    ];
    case.run(&segments).done();
    modes(&case, &[("sound", 0o755)]);
}

#[test]
fn a_home_of_an_earlier_version_is_closed_by_its_owner() {
    let case = filled();
    fs::create_dir(case.at("home/heard")).unwrap();
    for (path, mode) in CLOSED {
        set(&case, path, mode | 0o055);
    }
    set(&case, "card", 0o755);
    case.run(&["log"]).code(0);
    modes(&case, &CLOSED);
    modes(&case, &[("card", 0o755)]);
}

#[test]
fn a_folder_that_is_shared_keeps_its_rights() {
    let case = filled();
    set(&case, "home", 0o2775);
    set(&case, "home/logbook.sqlite", 0o664);
    case.run(&["log"]).code(0);
    modes(&case, &[("home", 0o2775), ("home/logbook.sqlite", 0o664)]);
    // One that holds other things too keeps them open.
    case.write("home/letter.txt", "dear friend");
    set(&case, "home", 0o755);
    case.run(&["log"]).code(0);
    modes(&case, &[("home", 0o755), ("home/logbook.sqlite", 0o600)]);
}
