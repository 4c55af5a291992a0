//! What the service manager hears, on a real socket (Debian package libasound2).

use std::fs;
use std::os::unix::net::UnixDatagram;
use std::process::Command;
use std::thread::sleep;
use std::time::{Duration, Instant};

use jumpseat_core::journal::Event;

use super::board::feeder::noise;
use super::board::{Board, Feeder};

/// Everything said within this time.
fn heard(socket: &UnixDatagram, time: Duration) -> Vec<String> {
    let until = Instant::now() + time;
    let mut told = Vec::new();
    let mut bytes = [0; 1_024];
    while let Some(left) = until
        .checked_duration_since(Instant::now())
        .filter(|left| !left.is_zero())
    {
        socket.set_read_timeout(Some(left)).unwrap();
        if let Ok(count) = socket.recv(&mut bytes) {
            told.push(String::from_utf8_lossy(&bytes[..count]).into_owned());
        }
    }
    told
}

fn beats(told: &[String]) -> usize {
    told.iter().filter(|text| *text == "WATCHDOG=1").count()
}

#[test]
fn the_watchdog_is_fed_only_while_samples_come_and_reach_the_card() {
    let board = Board::new().with_sound(16_000);
    let socket = UnixDatagram::bind(board.path("notify")).unwrap();
    let feeder = Feeder::start(&board.path("sound"), 16_000, noise(4, 16_000));
    // Two seconds: a sign of life every half second.
    let recorder = board.record_with(&[
        ("NOTIFY_SOCKET", board.path("notify").to_str().unwrap()),
        ("WATCHDOG_USEC", "2000000"),
    ]);
    let told = heard(&socket, Duration::from_millis(3_500));
    assert!(told.contains(&"READY=1".to_owned()), "{told:?}");
    assert!(told.contains(&"STATUS=recording".to_owned()), "{told:?}");
    assert!((4..=8).contains(&beats(&told)), "{told:?}");
    // The device hangs: nothing comes any more.
    feeder.wait();
    recorder.hears("no sound coming in");
    let _before = heard(&socket, Duration::from_millis(200));
    let told = heard(&socket, Duration::from_millis(2_500));
    assert_eq!(beats(&told), 0, "{told:?}");
    assert_eq!(recorder.terminate().code(), Some(0));
    let told = heard(&socket, Duration::from_millis(100));
    assert!(told.contains(&"STOPPING=1".to_owned()), "{told:?}");
}

#[test]
fn the_watchdog_is_not_fed_while_the_card_takes_nothing_and_again_when_it_does() {
    let board = Board::new().with_sound(16_000);
    let library = board.path("fails.so");
    let made = Command::new("cc")
        .args(["-shared", "-fPIC", "-O1", "-o"])
        .arg(&library)
        .arg(concat!(
            env!("CARGO_MANIFEST_DIR"),
            "/tests/live/card/fails.c"
        ))
        .status()
        .expect("a C compiler is missing: apt-get install build-essential");
    assert!(made.success());
    let (notify, broken) = (board.path("notify"), board.path("broken"));
    let socket = UnixDatagram::bind(&notify).unwrap();
    let _feeder = Feeder::start(&board.path("sound"), 16_000, noise(40, 16_000));
    let recorder = board.record_with(&[
        ("NOTIFY_SOCKET", notify.to_str().unwrap()),
        ("WATCHDOG_USEC", "2000000"),
        ("LD_PRELOAD", library.to_str().unwrap()),
        ("JUMPSEAT_TEST_BROKEN", broken.to_str().unwrap()),
    ]);
    assert!(beats(&heard(&socket, Duration::from_secs(4))) >= 4);
    fs::write(&broken, "").unwrap();
    recorder.hears("cannot");
    let _before = heard(&socket, Duration::from_millis(1_500));
    let told = heard(&socket, Duration::from_millis(2_500));
    assert_eq!(beats(&told), 0, "{told:?}");
    fs::remove_file(&broken).unwrap();
    // A card that failed is tried again every 5 s.
    assert!(beats(&heard(&socket, Duration::from_secs(8))) > 0);
    // It tells of the trouble it had.
    assert_ne!(recorder.terminate().code(), None);
    let trip = board.trip();
    assert!(
        !trip.has(|event| matches!(event, Event::Gap { .. })),
        "{}",
        trip.journal()
    );
}

#[test]
fn a_recorder_that_was_killed_records_again_within_two_seconds_of_its_start() {
    let board = Board::new().with_sound(16_000);
    let _feeder = Feeder::start(&board.path("sound"), 16_000, noise(12, 16_000));
    let recorder = board.record();
    recorder.hears("state: recording");
    recorder.kill();
    let began = Instant::now();
    let recorder = board.record();
    let first = loop {
        let sound = board
            .trips()
            .last()
            .is_some_and(|trip| !trip.pieces().is_empty());
        if sound || began.elapsed() > Duration::from_secs(5) {
            break began.elapsed();
        }
        sleep(Duration::from_millis(10));
    };
    assert!(first < Duration::from_secs(2), "{first:?}");
    println!(
        "figure: recorder: first samples in a file {} ms after its start",
        first.as_millis()
    );
    assert_eq!(recorder.terminate().code(), Some(0));
    assert_eq!(board.trips().len(), 2);
}
