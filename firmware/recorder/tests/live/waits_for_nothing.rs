//! What is missing at the start, and is recorded without (Debian package libasound2).

use std::thread::sleep;
use std::time::{Duration, Instant};

use jumpseat_core::journal::{Event, Fault};

use super::board::feeder::noise;
use super::board::{Board, Feeder};

#[test]
fn recording_begins_without_waiting_for_network_fix_or_dial() {
    // An address that no network has (RFC 5737), and a daemon that is not there.
    let board = Board::new()
        .with_sound(16_000)
        .with("gps = { gpsd = \"192.0.2.1:2947\" }")
        .with("dial = { rigctld = \"127.0.0.1:1\" }");
    let _feeder = Feeder::start(&board.path("sound"), 16_000, noise(12, 16_000));
    let began = Instant::now();
    let recorder = board.record();
    let opened = |event: &Event| matches!(event, Event::SegmentOpened { .. });
    while !board.trip().has(opened) {
        assert!(began.elapsed() < Duration::from_secs(2), "no sound yet");
        sleep(Duration::from_millis(10));
    }
    let first_ms = began.elapsed().as_millis();
    recorder.hears("state: recording");
    sleep(Duration::from_secs(1));
    assert_eq!(recorder.terminate().code(), Some(0));
    let trip = board.trip();
    let missing = |wanted: Fault| {
        trip.has(|event| matches!(event, Event::Fault { fault, .. } if *fault == wanted))
    };
    assert!(missing(Fault::Dial), "{}", trip.journal());
    assert!(trip.pieces()[0].samples.len() > 8_000);
    println!(
        "figure: recorder: without network, fix or dial its first file is open {first_ms} ms after its start"
    );
}
