//! Bad input to the recorder: what is wrong is said clearly, and nothing is lost by it.

use std::fs;
use std::process::Command;
use std::thread::sleep;
use std::time::{Duration, Instant};

use jumpseat_core::journal::{JournalEvent, RecorderFault};
use jumpseat_test_kit::{CommandReply, built};
use jumpseat_tests::board::{RunningRecorder, TestBoard};
use jumpseat_tests::journal_story::{has, story};
use jumpseat_tests::parts::SoundFifo;

const NO_PORT: &str = "gps = { serial = { device = \"/dev/ttyNOSUCH\" } }";
const NO_DEVICE: &str = "sound = { device = \"nosuchcard\" }";

/// Sound from a pipe in the board's folder: these frames, then silence.
fn sound(board: &TestBoard, frames: Vec<[i16; 2]>) -> SoundFifo {
    let mut fifo = SoundFifo::make(board.folder()).unwrap();
    fifo.feed(Instant::now(), frames).unwrap();
    fifo
}

/// The board's recorder ends with this code when it is asked this, and says all of these.
#[track_caller]
fn check(board: &TestBoard, words: &[&str], code: i32, says: &[&str]) {
    let reply = CommandReply::of(&mut board.command(words).unwrap());
    reply.ended(code).says(says);
}

#[test]
fn a_misspelt_key_is_named_and_nothing_is_started() {
    for (line, says) in [
        ("sond = { rx = 0 }", ["unknown field `sond`", "`sound`"]),
        (
            "sound = { devise = \"default\" }",
            ["unknown field `devise`", "`device`"],
        ),
    ] {
        let board = TestBoard::new().unwrap().with(line);
        for words in [&["run"][..], &["check"], &["validate"]] {
            check(&board, words, 2, &["recorder.toml", says[0], says[1]]);
        }
        assert_eq!(fs::read_dir(board.card()).unwrap().count(), 0);
    }
}

#[test]
fn a_right_config_is_called_right() {
    let board = TestBoard::new().unwrap().with_feed();
    check(&board, &["validate"], 0, &["valid"]);
}

#[test]
fn what_cannot_be_a_call_sign_is_told_and_keeps_nothing_from_being_recorded() {
    let board = TestBoard::new().unwrap();
    let fifo = sound(&board, vec![[4_000, -4_000]; 16_000 * 10]);
    let board = board
        .with_sound(&fifo)
        .with("station = { call = \"Ruth\" }");
    let says = [
        "recorder.toml: station.call = \"Ruth\" cannot be a call sign",
        "W7QTM/P",
    ];
    check(&board, &["validate"], 3, &says);
    let mut recorder = board.record().unwrap();
    recorder.wait_for_output("cannot be a call sign").unwrap();
    recorder.wait_for_output("state: recording").unwrap();
    assert_eq!(recorder.terminate().unwrap().code(), Some(0));
    assert!(board.trip().unwrap().ended_in_order());
}

#[test]
fn a_config_file_that_is_not_there_is_named() {
    let mut command = Command::new(built("jumpseat-recorder").unwrap());
    let reply = CommandReply::of(command.args(["run", "--config", "/nonexistent/recorder.toml"]));
    let says = ["/nonexistent/recorder.toml", "--config FILE"];
    reply.ended(2).says(&says);
}

#[test]
fn a_missing_card_folder_is_told() {
    let board = TestBoard::new().unwrap();
    fs::remove_dir(board.card()).unwrap();
    let says = ["card", "No such file", "check that the path"];
    check(&board, &["run"], 1, &says);
}

#[test]
fn a_sound_device_that_does_not_exist_is_named_with_those_that_do_at_once_when_strict() {
    let board = TestBoard::new().unwrap().with(NO_DEVICE);
    let _fifo = sound(&board, Vec::new());
    let says = ["there is no sound device \"nosuchcard\"", "fifoin"];
    check(&board, &["run", "--strict"], 1, &says);
    let trip = board.trip().unwrap();
    assert!(trip.ended_in_order(), "{:?}", trip.damage());
    check(&board, &["check", "--seconds", "1"], 1, &says);
}

#[test]
fn a_missing_serial_port_is_told_by_check() {
    let board = TestBoard::new().unwrap().with(NO_PORT);
    let says = ["/dev/ttyNOSUCH", "No such file", "check its cable"];
    check(&board, &["check", "--seconds", "1"], 1, &says);
}

#[test]
fn a_serial_port_that_does_not_exist_is_named_at_once_when_strict() {
    let board = TestBoard::new().unwrap();
    // The sound works, so that the receiver is all there is to complain of.
    let fifo = sound(&board, Vec::new());
    let board = board.with_sound(&fifo).with(NO_PORT);
    let command = board.command(&["run", "--strict"]).unwrap();
    let mut recorder = RunningRecorder::start(&command, &board.path("log")).unwrap();
    let ended = recorder.end().unwrap();
    let said = recorder.output();
    assert_eq!(ended.code(), Some(1), "{said}");
    assert!(said.contains("/dev/ttyNOSUCH"), "{said}");
}

#[test]
fn without_strict_the_rest_is_recorded_and_the_trouble_is_in_the_journal() {
    let board = TestBoard::new().unwrap();
    let fifo = sound(&board, vec![[4_000, -4_000]; 16_000 * 30]);
    let board = board
        .with_sound(&fifo)
        .with(NO_PORT)
        .with("dial = { rigctld = \"127.0.0.1:1\" }");
    let mut recorder = board.record().unwrap();
    sleep(Duration::from_secs(4));
    assert_eq!(recorder.terminate().unwrap().code(), Some(0));

    let said = recorder.output();
    assert!(said.contains("/dev/ttyNOSUCH"), "{said}");
    assert!(said.contains("127.0.0.1:1"), "{said}");
    let trip = board.trip().unwrap();
    for input in [RecorderFault::Gps, RecorderFault::Dial] {
        assert!(story(&trip, input).contains('f'), "{:?}", trip.records());
    }
    let samples: u64 = trip.segments().iter().map(|segment| segment.count).sum();
    assert!(samples > 16_000 * 3, "{samples} samples in 4 s");
    println!(
        "figure: faults: no receiver and no rig control: {samples} samples in 4 s, both faults in the journal"
    );
}

#[test]
fn a_sound_device_that_comes_late_is_waited_for_while_the_rest_is_recorded() {
    let board = TestBoard::new().unwrap().with_feed();
    // Its name alone, before it is there.
    let folder = tempfile::tempdir().unwrap();
    let board = board.with_sound(&SoundFifo::make(folder.path()).unwrap());
    let mut recorder = board.record().unwrap();
    let missing = "there is no sound device \"fifoin\"";
    recorder.wait_for_output(missing).unwrap();
    board.set_line("mark", true).unwrap();
    recorder.wait_for_output("mark acknowledged").unwrap();
    recorder.wait_for_output("no sound coming in").unwrap();
    // It is plugged in.
    let fifo = sound(&board, vec![[4_000, -4_000]; 16_000 * 12]);
    recorder.wait_for_output("state: recording").unwrap();
    sleep(Duration::from_secs(1));
    assert!(fifo.fed() > 0);
    assert_eq!(recorder.terminate().unwrap().code(), Some(0));
    let trip = board.trip().unwrap();
    assert_eq!(
        story(&trip, RecorderFault::Sound),
        "fr",
        "{:?}",
        trip.records()
    );
    let named = |event: &JournalEvent| match event {
        JournalEvent::Fault { fault, detail } => {
            *fault == RecorderFault::Sound && detail.contains("fifoin")
        }
        _ => false,
    };
    assert!(has(&trip, named), "{:?}", trip.records());
    assert!(has(&trip, |event| *event == JournalEvent::Mark {}));
    assert!(!trip.segments().is_empty());
}

#[test]
fn the_report_of_check_is_also_json() {
    let board = TestBoard::new().unwrap().with_feed().with(NO_DEVICE);
    let mut command = board
        .command(&["check", "--json", "--seconds", "1"])
        .unwrap();
    let report = CommandReply::of(&mut command).json();
    let findings = report["findings"].as_array().unwrap();
    let of = |input: &str| {
        let found = findings.iter().find(|finding| finding["input"] == input);
        found.unwrap()["health"].as_str().unwrap().to_owned()
    };
    assert_eq!(of("card"), "good");
    assert_eq!(of("sound"), "failed");
    assert_eq!(of("gps"), "doubtful");
    assert_eq!(of("ptt"), "good");
}
