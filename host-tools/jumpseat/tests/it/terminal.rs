//! Text from trips, logs and file names never controls the terminal, and never starts a new
//! line.

use std::fs;

use jumpseat_core::journal::{JournalEvent, JournalRecord, encode, verify};

use crate::case::{CommandReply, HomeCase, TRIP};

/// Clears the screen, colours, sets the clipboard, goes back in the line, begins a line,
/// and turns the direction of reading.
const COMMANDS: &str = "\u{1b}[2J\u{9b}31m\u{1b}]52;c;eA==\u{7}\r\nFORGED\u{85}\u{202e}\u{2066}";
/// As much of it as a mode holds.
const MODE: &str = "F\u{1b}[2J\nFORGED\u{9b}";

/// Runs a command and fails if its words command the terminal, or if a line is forged.
#[track_caller]
fn check(case: &HomeCase, arguments: &[&str], shows: &[&str]) {
    harmless(&case.run(arguments), arguments, shows);
}

#[track_caller]
fn harmless(ran: &CommandReply, arguments: &[&str], shows: &[&str]) {
    let said = ran.printed();
    let obeyed =
        |sign: &char| *sign != '\n' && (sign.is_control() || "\u{202e}\u{2066}".contains(*sign));
    let found: Vec<char> = said.chars().filter(obeyed).collect();
    assert!(found.is_empty(), "{arguments:?}: {found:?} in\n{said:?}");
    let forged = said
        .lines()
        .any(|line| line.trim_start().starts_with("FORGED"));
    assert!(!forged, "{arguments:?}: a forged line in\n{said}");
    for part in shows {
        assert!(said.contains(part), "{arguments:?}: no '{part}' in\n{said}");
    }
}

/// The demo's trip whose operator, modes and folder try it.
fn hostile_trip(case: &HomeCase) -> String {
    let pulled = case.pulled();
    let header = fs::read_to_string(pulled.join("trip.json")).unwrap();
    let mut header: serde_json::Value = serde_json::from_str(&header).unwrap();
    header["station"]["operator"] = format!("W7QTM{COMMANDS}").into();
    header["board"] = COMMANDS.into();
    fs::write(pulled.join("trip.json"), header.to_string()).unwrap();
    let journal = fs::read(pulled.join("journal.jsonl")).unwrap();
    let mut lines = Vec::new();
    for line in journal.split_inclusive(|&byte| byte == b'\n') {
        let text = verify(line).unwrap();
        let mut record: JournalRecord = serde_json::from_slice(text).unwrap();
        match &mut record.event {
            JournalEvent::Dial { mode, .. } => *mode = MODE.parse().unwrap(),
            JournalEvent::Fault { detail, .. } => *detail = COMMANDS.parse().unwrap(),
            _ => {}
        }
        lines.extend(encode(&record).unwrap());
    }
    fs::write(pulled.join("journal.jsonl"), lines).unwrap();
    fs::write(pulled.join(format!("audio/{COMMANDS}-rx.wav")), "none").unwrap();
    let name = format!("{TRIP}-{COMMANDS}");
    fs::rename(&pulled, pulled.with_file_name(&name)).unwrap();
    name
}

#[test]
#[cfg(unix)]
fn what_a_trip_says_of_itself() {
    let case = HomeCase::drafted();
    let name = hostile_trip(&case);
    let whole = "\\u{1b}[2J\\u{9b}31m";
    check(&case, &["trips"], &[whole, "W7QTM\\u{1b}"]);
    check(
        &case,
        &["trips", "--json"],
        &["\\u001b[2J\\u009b31m", "\\u202e\\u2066"],
    );
    check(&case, &["check", &name], &[whole]);
    check(&case, &["check", &name, "--json"], &["\\u009b31m"]);
    check(&case, &["draft", &name], &["F\\u{1b}[2J\\nFORGED"]);
    check(&case, &["draft", &name, "--json", "-"], &["\\u009b"]);
    check(&case, &["log"], &["F\\u{1b}[2J\\nFORGED"]);
    check(&case, &["log", "--json"], &["\\u009b"]);
    check(&case, &["log", "--trip", &name], &[]);
    check(&case, &["keep", "--days", "1"], &[whole]);
    check(&case, &["confirm", "1", "--call", COMMANDS], &[]);
    check(
        &case,
        &["export", "--format", "segments", "--trip", &name],
        &[],
    );
    check(&case, &["pull", "home/trips"], &[]);
    check(&case, &["pull", "home/trips", "--json"], &[]);
    check(&case, &["arrive", "home/trips", "--no-page"], &[]);
}

#[test]
#[cfg(unix)]
fn what_was_given_by_name() {
    let case = HomeCase::with_card();
    for arguments in [
        &["check", COMMANDS][..],
        &["draft", COMMANDS],
        &["pull", COMMANDS],
        &["pull", "card", COMMANDS],
        &["hear", COMMANDS],
        &["import", COMMANDS],
        &["log", "--band", COMMANDS],
        &[COMMANDS],
    ] {
        check(&case, arguments, &["\\u{1b}"]);
    }
}

#[test]
#[cfg(unix)]
fn what_another_log_says() {
    let case = HomeCase::after_demo();
    let field = |name: &str, value: &str| format!("<{name}:{}>{value}", value.len());
    let record = |call: &str| {
        [
            field("CALL", call),
            field("QSO_DATE", "20260514"),
            field("TIME_ON", "150428"),
            field("BAND", "20m"),
            field("MODE", COMMANDS),
            field("NAME", COMMANDS),
            field("COMMENT", COMMANDS),
            field("FREQ", COMMANDS),
            field("RST_SENT", COMMANDS),
            field(&format!("X{COMMANDS}"), COMMANDS),
            "<EOR>\n".into(),
        ]
        .concat()
    };
    let text = [record("KB0QSE"), record("N5QSL"), record(COMMANDS)].concat();
    let name = format!("friend{COMMANDS}.adi");
    case.write(&name, format!("<EOH>\n{text}"));
    check(
        &case,
        &["import", &name],
        &["friend\\u{1b}[2J", "\\nFORGED"],
    );
    check(&case, &["import", &name, "--json"], &["\\u009b"]);
    check(&case, &["log"], &["\\u{9b}31m"]);
    check(&case, &["log", "--duplicates"], &[]);
    check(&case, &["undo", "--list"], &["friend\\u{1b}[2J"]);
    check(&case, &["undo"], &["friend\\u{1b}[2J"]);
    let out = format!("{COMMANDS}.csv");
    check(
        &case,
        &["export", "--format", "csv", "--all", "--out", &out],
        &["\\u{1b}"],
    );
    check(&case, &["export", "--list"], &["\\u{1b}"]);
}

/// A way to a board that says these bytes as its SSH server, and these as its SFTP.
#[cfg(unix)]
fn board(case: &HomeCase, words: &str, sftp: &[u8]) {
    use std::os::unix::fs::PermissionsExt as _;

    case.write("words", words);
    case.write("sftp", sftp);
    // It takes what it is asked until it is left, so that every reply is read.
    let script = "#!/bin/sh\ncat words >&2\ncat sftp\nexec 1>&- 2>&-\ncat > asked\n";
    case.write("tools/ssh", script);
    let ssh = case.at("tools/ssh");
    fs::set_permissions(ssh, fs::Permissions::from_mode(0o755)).unwrap();
}

#[test]
#[cfg(unix)]
fn what_a_board_says() {
    let case = HomeCase::with_card();
    let path = std::env::var("PATH").unwrap();
    let path = format!("{}:{path}", case.at("tools").display());
    let pull = |shows: &[&str]| {
        let arguments = ["pull", "ssh://board"];
        harmless(
            &case.run_with_path(path.as_ref(), &arguments),
            &arguments,
            shows,
        );
    };
    board(&case, COMMANDS, b"");
    pull(&["ssh says: \\u{1b}[2J\\u{9b}31m"]);
    // Version 3, and a failure with its own text in reply to the first request.
    let words = COMMANDS.as_bytes();
    let length = |length: usize| u32::try_from(length).unwrap().to_be_bytes();
    let status = [
        &[101][..],
        &[0, 0, 0, 0, 0, 0, 0, 4],
        &length(words.len()),
        words,
        &length(0),
    ]
    .concat();
    let sftp = [
        &[0, 0, 0, 5, 2, 0, 0, 0, 3][..],
        &length(status.len()),
        &status,
    ]
    .concat();
    board(&case, "", &sftp);
    pull(&["\\u{1b}[2J\\u{9b}31m"]);
}

#[test]
fn what_the_station_file_says() {
    let case = HomeCase::with_card();
    for text in [
        format!("call = \"{}\"\n", "\\u001b[2J\\nFORGED"),
        format!("operator = {COMMANDS}\n"),
        "no\u{9b} = 1\n".to_owned(),
    ] {
        case.write("home/station.toml", text);
        check(&case, &["pull"], &["station.toml"]);
    }
}
