//! What the service manager hears, on a real socket (Debian package libasound2).

use std::os::unix::net::UnixDatagram;
use std::thread::sleep;
use std::time::{Duration, Instant};

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
