//! Bad input to the recorder.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Duration;

use jumpseat_core::journal::{Event, Fault};
use jumpseat_tests::parts::{Process, SoundFifo, wait_until};
use jumpseat_tests::tools;
use jumpseat_trip::Trip;
use rustix::process::Signal;

use crate::said::{run, text};

/// A config file with these lines after the card's.
fn config(folder: &Path, lines: &str) -> PathBuf {
    let card = folder.join("card");
    fs::create_dir_all(&card).unwrap();
    let path = folder.join("recorder.toml");
    let board = "board = \"3fa2c1\"";
    fs::write(
        &path,
        format!("[card]\ndir = \"{}\"\n{board}\n{lines}\n", card.display()),
    )
    .unwrap();
    path
}

fn only_trip(folder: &Path) -> PathBuf {
    let mut trips = fs::read_dir(folder.join("card"))
        .unwrap()
        .map(|entry| entry.unwrap().path());
    trips.find(|path| path.is_dir()).expect("a trip folder")
}

#[test]
fn a_misspelt_key_is_named_and_nothing_is_started() {
    let folder = tempfile::tempdir().unwrap();
    let path = config(folder.path(), "[sound]\ndevise = \"default\"");
    for command in ["validate", "run"] {
        let said = run("jumpseat-recorder", &[command, "--config", text(&path)]);
        said.check(2, &["recorder.toml", "devise", "device"]);
    }
    assert_eq!(fs::read_dir(folder.path().join("card")).unwrap().count(), 0);
}

#[test]
fn a_config_file_that_is_not_there_is_named() {
    let said = run(
        "jumpseat-recorder",
        &["run", "--config", "/nonexistent/recorder.toml"],
    );
    said.check(2, &["/nonexistent/recorder.toml", "--config FILE"]);
}

#[test]
fn a_sound_device_that_does_not_exist_is_named_at_once_when_strict() {
    let folder = tempfile::tempdir().unwrap();
    let path = config(folder.path(), "[sound]\ndevice = \"nosuchcard\"");
    let said = run(
        "jumpseat-recorder",
        &["run", "--strict", "--config", text(&path)],
    );
    said.check(1, &["nosuchcard"]);
    let trip = Trip::open(&only_trip(folder.path())).unwrap();
    assert!(trip.ended_in_order(), "{:?}", trip.damage());
}

#[test]
fn a_serial_port_that_does_not_exist_is_named_at_once_when_strict() {
    let folder = tempfile::tempdir().unwrap();
    // The sound works, so that the receiver is all there is to complain of.
    let mut fifo = SoundFifo::make(folder.path()).unwrap();
    let lines = format!(
        "[sound]\ndevice = \"{}\"\nrate = 16000\nchannels = 2\nperiod_frames = {}\n\
         [gps]\nserial = {{ device = \"/dev/ttyNOSUCH\" }}",
        fifo.device(),
        fifo.period()
    );
    let path = config(folder.path(), &lines);
    fifo.feed(std::time::Instant::now(), vec![[0, 0]; 16_000 * 10])
        .unwrap();
    let mut command = Command::new(tools::built("jumpseat-recorder").unwrap());
    command.args(["run", "--strict", "--config", text(&path)]);
    fifo.inside(&mut command);
    let log = folder.path().join("log");
    let mut recorder = Process::start(&command, &log).unwrap();
    let ended = recorder.end(Duration::from_secs(10)).unwrap();
    let said = fs::read_to_string(&log).unwrap();
    assert_eq!(ended.code(), Some(1), "{said}");
    assert!(said.contains("/dev/ttyNOSUCH"), "{said}");
}

#[test]
fn without_strict_the_rest_is_recorded_and_the_trouble_is_in_the_journal() {
    let folder = tempfile::tempdir().unwrap();
    let mut fifo = SoundFifo::make(folder.path()).unwrap();
    let lines = format!(
        "[sound]\ndevice = \"{}\"\nrate = 16000\nchannels = 2\nperiod_frames = {}\n\
         [gps]\nserial = {{ device = \"/dev/ttyNOSUCH\" }}\n[dial]\nrigctld = \"127.0.0.1:1\"",
        fifo.device(),
        fifo.period()
    );
    let path = config(folder.path(), &lines);
    fifo.feed(
        std::time::Instant::now(),
        vec![[4_000, -4_000]; 16_000 * 30],
    )
    .unwrap();
    let mut command = Command::new(tools::built("jumpseat-recorder").unwrap());
    command.args(["run", "--config", text(&path)]);
    fifo.inside(&mut command);
    let log = folder.path().join("log");
    let mut recorder = Process::start(&command, &log).unwrap();
    std::thread::sleep(Duration::from_secs(4));
    recorder.signal(Signal::TERM).unwrap();
    assert_eq!(
        recorder.end(Duration::from_secs(10)).unwrap().code(),
        Some(0)
    );

    let said = fs::read_to_string(&log).unwrap();
    assert!(said.contains("/dev/ttyNOSUCH"), "{said}");
    assert!(said.contains("127.0.0.1:1"), "{said}");
    let trip = Trip::open(&only_trip(folder.path())).unwrap();
    let faults: Vec<Fault> = trip
        .records()
        .iter()
        .filter_map(|record| match record.event {
            Event::Fault { fault, .. } => Some(fault),
            _ => None,
        })
        .collect();
    assert!(
        faults.contains(&Fault::Gps) && faults.contains(&Fault::Dial),
        "{faults:?}"
    );
    let samples: u64 = trip.segments().iter().map(|segment| segment.count).sum();
    assert!(samples > 16_000 * 3, "{samples} samples in 4 s");
    println!(
        "figure: faults: no receiver and no rig control: {samples} samples in 4 s, both faults in the journal"
    );
}

#[test]
fn a_sound_device_that_comes_late_is_waited_for_while_the_rest_is_recorded() {
    let folder = tempfile::tempdir().unwrap();
    let path = config(folder.path(), "[sound]\ndevice = \"nosuchcard\"");
    let mut command = Command::new(tools::built("jumpseat-recorder").unwrap());
    command
        .args(["run", "--config", text(&path)])
        .env("HOME", folder.path());
    let log = folder.path().join("log");
    let mut recorder = Process::start(&command, &log).unwrap();
    let told = wait_until(Duration::from_secs(5), || {
        fs::read_to_string(&log).is_ok_and(|said| said.contains("nosuchcard"))
    });
    assert!(told && recorder.runs());
    recorder.signal(Signal::TERM).unwrap();
    assert_eq!(
        recorder.end(Duration::from_secs(10)).unwrap().code(),
        Some(0)
    );
    let trip = Trip::open(&only_trip(folder.path())).unwrap();
    let named = trip.records().iter().any(|record| match &record.event {
        Event::Fault { fault, detail } => *fault == Fault::Sound && detail.contains("nosuchcard"),
        _ => false,
    });
    assert!(named, "{:?}", trip.records());
}
