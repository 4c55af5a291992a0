//! A hostile card, a row a trick: every command ends, in time and in little memory, names
//! the file, writes nothing outside, and still finds the sound that is good.

use std::fs::{self, File};
use std::io::Write as _;
use std::os::unix::ffi::OsStrExt as _;
use std::os::unix::fs::{FileExt as _, symlink};
use std::path::{Path, PathBuf};
use std::process::Command;

use jumpseat_core::journal::{JournalEvent, JournalRecord, TimeSource, encode};
use jumpseat_test_kit::{CommandReply, built, copy_folder, path_text};
use rustix::fs::{CWD, Mode, mkfifoat};
use serde_json::Value;

use crate::noise_trip;

/// Seconds that a command may take; the computer may be busy with other things.
const COMMAND_LIMIT_S: u32 = 120;
/// Megabytes of addresses that a command may have. Nothing but drafting runs threads,
/// and loads the recogniser.
const CHECKING_MB: u32 = 400;
const DRAFTING_MB: u32 = 2_000;
/// For seven hundred megabytes of journals; the program itself takes up to 80 of it.
const JOURNALS_MB: u32 = 280;

/// Sound of the whole trip, and without its second file, in seconds.
const WHOLE_TRIP_S: f64 = 12.0;
const WITHOUT_ONE_FILE_S: f64 = 9.5;

/// What must hold of a row besides what holds of all.
enum HostileCardOutcome<'a> {
    /// So much sound is found, and `check` says these.
    Sound(f64, &'a [&'a str]),
    /// Nothing can be done with it, for this reason.
    Refused(&'a [&'a str]),
}
use HostileCardOutcome::{Refused, Sound};

/// A card with the trick, a home, and a place where nothing must change.
struct HostileCardCase {
    folder: tempfile::TempDir,
    trip: PathBuf,
}

impl HostileCardCase {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let whole = noise_trip::trip();
        let trip = folder.path().join("card").join(whole.file_name().unwrap());
        copy_folder(whole, &trip).unwrap();
        let outside = folder.path().join("outside");
        fs::create_dir(&outside).unwrap();
        fs::copy(whole.join("journal.jsonl"), outside.join("file")).unwrap();
        Self { folder, trip }
    }

    /// Runs a command that must end within the limits.
    fn run(&self, megabytes: u32, arguments: &[&str]) -> CommandReply {
        let home = self.folder.path().join("home");
        let limits = r#"ulimit -v "$1" && shift && exec timeout -k 1 "$@""#;
        let reply = CommandReply::of(
            Command::new("sh")
                .args(["-c", limits, "sh"])
                .arg((megabytes * 1024).to_string())
                .arg(COMMAND_LIMIT_S.to_string())
                .arg(built("jumpseat").unwrap())
                .args(["--home", path_text(&home)])
                .args(arguments)
                // Each thread would have a hundred megabytes of addresses for itself.
                .env("MALLOC_ARENA_MAX", "1"),
        );
        let all = reply.printed();
        assert!(
            matches!(reply.code, Some(0 | 1 | 3)),
            "{arguments:?} ended with {:?}: {all}",
            reply.code
        );
        assert!(!all.contains("panicked"), "{all}");
        assert!(!all.contains('\u{1b}'), "{all:?}");
        reply
    }

    /// Everything but what a pull may write, without following a link.
    fn rest(&self) -> Vec<(PathBuf, u64)> {
        let home = self.folder.path().join("home");
        let card = self.folder.path().join("card");
        let ours = [home, card.join("receipts"), card.join("pull-lease")];
        let mut found = Vec::new();
        let mut folders = vec![self.folder.path().to_owned()];
        while let Some(folder) = folders.pop() {
            for entry in fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                if ours.contains(&path) {
                    continue;
                }
                let data = path.symlink_metadata().unwrap();
                if data.is_dir() {
                    folders.push(path.clone());
                }
                found.push((path, data.len()));
            }
        }
        found.sort();
        found
    }
}

/// Plays a trick with the trip's folder, then checks, drafts and, where it is `cheap`,
/// pulls it.
#[track_caller]
fn play(trick: impl FnOnce(&Path), cheap: bool, expected: HostileCardOutcome<'_>) {
    let row = HostileCardCase::new();
    trick(&row.trip);
    let before = row.rest();
    let outside = fs::read(row.folder.path().join("outside/file")).unwrap();
    let checked = row.run(CHECKING_MB, &["check", path_text(&row.trip)]);
    let drafted = row.run(DRAFTING_MB, &["draft", path_text(&row.trip), "--json", "-"]);
    match expected {
        Sound(seconds, says) => {
            checked.ended(3).says(says);
            let json = row.run(CHECKING_MB, &["check", path_text(&row.trip), "--json"]);
            let report: Value = serde_json::from_str(&json.out).unwrap();
            let found = report["rx_s"].as_f64().unwrap() + report["tx_s"].as_f64().unwrap();
            assert!((found - seconds).abs() < 1e-6, "{found} s: {}", checked.out);
            assert!(matches!(drafted.code, Some(0 | 3)), "{}", drafted.error);
        }
        Refused(says) => {
            checked.ended(1).says(says);
            drafted.ended(1).says(says);
        }
    }
    if cheap {
        row.run(
            DRAFTING_MB,
            &["pull", path_text(&row.folder.path().join("card"))],
        );
    }
    assert_eq!(row.rest(), before);
    let outside_now = fs::read(row.folder.path().join("outside/file")).unwrap();
    assert!(outside_now == outside, "a file outside was written");
}

/// What may stand in place of a file or folder.
const REPLACEMENT_KINDS: [&str; 6] = ["pipe", "file", "zero", "dangling", "folder", "loop"];

/// Puts something else in place of a file of the trip, or of its folder of sound.
fn replace(path: &Path, kind: &str) {
    if path.is_dir() {
        fs::remove_dir_all(path).unwrap();
    } else if path.exists() {
        fs::remove_file(path).unwrap();
    }
    match kind {
        "pipe" => mkfifoat(CWD, path, Mode::RUSR | Mode::WUSR).unwrap(),
        "file" => symlink("/etc/passwd", path).unwrap(),
        "zero" => symlink("/dev/zero", path).unwrap(),
        "dangling" => symlink("../nothing", path).unwrap(),
        "folder" => symlink("/etc", path).unwrap(),
        _ => symlink(path, path).unwrap(),
    }
}

/// Puts every kind in place of this.
#[track_caller]
fn in_place_of(name: &str, seconds: f64) {
    for kind in REPLACEMENT_KINDS {
        play(
            |trip| replace(&trip.join(name), kind),
            true,
            Sound(seconds, &[&format!("{name}: "), "link, "]),
        );
    }
}

#[test]
fn in_place_of_the_header() {
    in_place_of("trip.json", WHOLE_TRIP_S);
}

#[test]
fn in_place_of_the_journal() {
    in_place_of("journal.jsonl", WHOLE_TRIP_S);
    in_place_of("journal-2.jsonl", WHOLE_TRIP_S);
}

#[test]
fn in_place_of_sound() {
    in_place_of("audio/000002-tx.wav", WITHOUT_ONE_FILE_S);
    in_place_of("audio", 0.0);
}

#[test]
fn in_place_of_what_was_kept_or_noted() {
    in_place_of("kept.json", WHOLE_TRIP_S);
    in_place_of(".sha256sums", WHOLE_TRIP_S);
}

#[test]
fn a_link_to_a_whole_trip_outside_is_not_followed() {
    play(
        |trip| {
            let outside = trip.ancestors().nth(2).unwrap().join("outside");
            fs::rename(trip.join("audio"), outside.join("audio")).unwrap();
            symlink(outside.join("audio"), trip.join("audio")).unwrap();
        },
        true,
        Sound(0.0, &["/audio: a link, pipe, device or folder is here"]),
    );
}

#[test]
fn hear_is_given_what_is_no_file() {
    for kind in REPLACEMENT_KINDS {
        let row = HostileCardCase::new();
        let sound = row.trip.join("audio/000002-tx.wav");
        replace(&sound, kind);
        row.run(DRAFTING_MB, &["hear", path_text(&sound)])
            .ended(1)
            .says(&["000002-tx.wav"]);
        let flac = row.trip.join("audio/000002-tx.flac");
        replace(&flac, kind);
        row.run(DRAFTING_MB, &["hear", path_text(&flac)])
            .ended(1)
            .says(&["000002-tx.flac"]);
    }
}

/// Makes a file longer, without taking room on the disk.
fn stretch(path: &Path, bytes: u64) {
    let file = File::options()
        .append(true)
        .create(true)
        .open(path)
        .unwrap();
    let length = file.metadata().unwrap().len();
    file.set_len(length + bytes).unwrap();
}

#[test]
fn files_without_end() {
    let mb = 1 << 20;
    play(
        |trip| stretch(&trip.join("journal.jsonl"), 100 * mb),
        false,
        Sound(
            WHOLE_TRIP_S,
            &["journal.jsonl:", "the last line stops after"],
        ),
    );
    play(
        |trip| stretch(&trip.join("trip.json"), 100 * mb),
        false,
        Sound(WHOLE_TRIP_S, &["trip.json: ", "longer than 65536 bytes"]),
    );
    play(
        |trip| stretch(&trip.join("kept.json"), 100 * mb),
        false,
        Sound(
            WHOLE_TRIP_S,
            &["kept.json: the list of packed and removed sound"],
        ),
    );
    // Longer than any card, and no record says how much of it is sound.
    play(
        |trip| {
            fs::remove_file(trip.join("journal.jsonl")).unwrap();
            stretch(&trip.join("audio/000005-rx.wav"), 4096 * mb);
        },
        false,
        Sound(
            9.0 + 3_600.0,
            &["000005-rx.wav: ", "the first 57600000 were used"],
        ),
    );
}

#[test]
fn seven_journals_of_a_hundred_megabytes() {
    let row = HostileCardCase::new();
    let lines = fs::read_to_string(row.trip.join("journal.jsonl")).unwrap();
    let mut seq = lines.lines().count() as u64;
    let first = first_of(&lines);
    // The first three are different, so that none takes the place of another.
    for number in 2..=7 {
        let path = row.trip.join(format!("journal-{number}.jsonl"));
        if number > 4 {
            fs::hard_link(row.trip.join("journal-4.jsonl"), path).unwrap();
            continue;
        }
        let mut file = std::io::BufWriter::new(File::create(path).unwrap());
        let mut bytes = 0;
        for _ in 0..110_000 {
            seq += 1;
            let line = record(&first, seq, JournalEvent::Clock { sample: seq });
            file.write_all(&line).unwrap();
            bytes += line.len();
        }
        // One line that is no record fills the rest.
        let noise = b"x".repeat(10_000);
        while bytes < 100_000_000 {
            file.write_all(&noise).unwrap();
            bytes += noise.len();
        }
    }
    let checked = row.run(JOURNALS_MB, &["check", path_text(&row.trip)]);
    checked.ended(3).says(&[
        "journal-4.jsonl: ",
        "longer than any journal is",
        "more records than",
    ]);
}

/// The first record of a journal.
fn first_of(journal: &str) -> JournalRecord {
    let line = journal.lines().next().unwrap();
    let json = jumpseat_core::journal::verify(line.as_bytes()).unwrap();
    serde_json::from_slice(json).unwrap()
}

/// The line of a record of the same power-up as another.
fn record(other: &JournalRecord, seq: u64, event: JournalEvent) -> Vec<u8> {
    let record = JournalRecord {
        seq,
        event,
        ..other.clone()
    };
    encode(&record).unwrap().to_vec()
}

#[test]
fn headers_of_sound_files_that_lie() {
    // What is written where, and what is printed.
    for (at, bytes, told) in [
        (
            0,
            &b"XXXX"[..],
            "its length is right, so its audio was read",
        ),
        (16, b"\xff\xff\xff\x7f", "its length is right"),
        (20, b"\x03\0", "not plain PCM"),
        (22, b"\x02\0", "16000 Hz, 16 bits, 2 channels"),
        (24, b"\x80\xbb\0\0", "48000 Hz, 16 bits, 1 channels"),
        (40, b"\xff\xff\xff\xff", "the audio itself is complete"),
        (40, b"\0\0\0\0", "the audio itself is complete"),
    ] {
        play(
            |trip| {
                let path = trip.join("audio/000002-tx.wav");
                let file = File::options().write(true).open(path).unwrap();
                file.write_all_at(bytes, at).unwrap();
            },
            true,
            Sound(WHOLE_TRIP_S, &["000002-tx.wav: ", told]),
        );
    }
}

#[test]
fn texts_that_are_made_to_break_their_reader() {
    let deep = "[".repeat(200_000);
    let wide = format!("{{\"format\":1,\"files\":[{}", "{\"a\":".repeat(50_000));
    for text in [
        &deep,
        &wide,
        "\u{1b}[2J",
        "{\"format\":1,\"trip\":1e999}",
        "\0",
    ] {
        for name in ["trip.json", "kept.json"] {
            play(
                |trip| fs::write(trip.join(name), text).unwrap(),
                true,
                Sound(WHOLE_TRIP_S, &[&format!("{name}: ")]),
            );
        }
        play(
            |trip| {
                let path = trip.join("journal.jsonl");
                let journal = fs::read_to_string(&path).unwrap();
                fs::write(&path, format!("{text}\n{journal}")).unwrap();
            },
            true,
            Sound(WHOLE_TRIP_S, &["journal.jsonl:1: "]),
        );
    }
}

#[test]
fn what_was_kept_leads_nowhere_else() {
    for name in [
        "../../outside/file",
        "/etc/passwd",
        "audio/../../../outside/file",
    ] {
        for (path, now) in [
            (name, "null".to_owned()),
            ("audio/000002-tx.wav", format!("{name:?}")),
        ] {
            let kept = format!(
                "{{\"format\":1,\"files\":[{{\"path\":\"{path}\",\"bytes\":1,\"now\":{now}}}]}}"
            );
            play(
                |trip| fs::write(trip.join("kept.json"), kept).unwrap(),
                true,
                Sound(
                    WHOLE_TRIP_S,
                    &["kept.json: ", "not the name of a sound file of a trip"],
                ),
            );
        }
    }
}

#[test]
fn names_that_play_tricks() {
    for name in [
        &b"\x1b[2Jx"[..],
        b"two\nlines",
        b"\xff\xfe",
        b"\xe2\x80\xae.wav",
        b"-rf",
    ] {
        for folder in [".", "audio"] {
            play(
                |trip| {
                    let name = std::ffi::OsStr::from_bytes(name);
                    fs::write(trip.join(folder).join(name), "x").unwrap();
                },
                true,
                Sound(WHOLE_TRIP_S, &["this file does not belong to the trip"]),
            );
        }
    }
}

#[test]
fn a_time_that_is_to_come() {
    play(
        |trip| {
            let path = trip.join("journal.jsonl");
            let journal = fs::read_to_string(&path).unwrap();
            let seq = journal.lines().count() as u64 + 1;
            let fix = JournalEvent::TimeFix {
                utc: "2099-05-14T15:02:00Z".try_into().unwrap(),
                source: TimeSource::Gpsd,
                valid: true,
                within_ms: None,
            };
            let mut file = File::options().append(true).open(&path).unwrap();
            file.write_all(&record(&first_of(&journal), seq, fix))
                .unwrap();
        },
        true,
        Sound(WHOLE_TRIP_S, &["time      unknown", "1 ignored"]),
    );
}

#[test]
fn what_is_missing_or_empty() {
    let unknown = "no journal: time, place and marks are unknown";
    let remove = |name: &'static str| move |trip: &Path| fs::remove_file(trip.join(name)).unwrap();
    let empty = |name: &'static str| move |trip: &Path| fs::write(trip.join(name), "").unwrap();
    play(
        remove("journal.jsonl"),
        true,
        Sound(WHOLE_TRIP_S, &["journal.jsonl: ", unknown]),
    );
    play(
        empty("journal.jsonl"),
        true,
        Sound(WHOLE_TRIP_S, &["journal.jsonl: the journal is empty"]),
    );
    let again = "the journal repeats what stood in it";
    play(
        remove("trip.json"),
        true,
        Sound(WHOLE_TRIP_S, &["trip.json: ", again]),
    );
    play(
        empty("trip.json"),
        true,
        Sound(WHOLE_TRIP_S, &["trip.json: ", again]),
    );
    play(
        |trip| {
            remove("trip.json")(trip);
            remove("journal.jsonl")(trip);
        },
        true,
        Sound(WHOLE_TRIP_S, &["trip.json: ", unknown]),
    );
    play(
        |trip| {
            fs::remove_dir_all(trip.join("audio")).unwrap();
            empty("trip.json")(trip);
            empty("journal.jsonl")(trip);
        },
        true,
        Refused(&["neither trip.json nor any record"]),
    );
}

#[test]
fn flipped_bits() {
    for (name, at, told) in [
        // The digit of "format":1, of the number, of the board, of the power-up.
        ("trip.json", 10, "the format is"),
        ("trip.json", 19, "the trip's number is"),
        ("trip.json", 30, "the board is"),
        ("trip.json", 46, "the power-up is"),
        ("journal.jsonl", 30, "the line is damaged"),
        (
            "audio/000002-tx.wav",
            4_000,
            "its samples differ from those that were recorded",
        ),
    ] {
        play(
            |trip| {
                let path = trip.join(name);
                let mut bytes = fs::read(&path).unwrap();
                bytes[at] ^= 1 << 1;
                fs::write(&path, bytes).unwrap();
            },
            true,
            Sound(WHOLE_TRIP_S, &[name, told]),
        );
    }
}
