//! Recording starts without the parts that are missing.

use std::thread::sleep;
use std::time::{Duration, Instant};

use jumpseat_core::journal::{JournalEvent, RecorderFault};
use jumpseat_tests::journal_story::has;

use crate::sound_boards::{board_with_sound, noise, pieces};

#[test]
fn recording_begins_without_waiting_for_network_fix_or_dial() {
    let (board, _sound) = board_with_sound(noise(12));
    // An address that no network has (RFC 5737), and a daemon that does not run.
    let board = board
        .with("gps = { gpsd = \"192.0.2.1:2947\" }")
        .with("dial = { rigctld = \"127.0.0.1:1\" }");
    let began = Instant::now();
    let mut recorder = board.record().unwrap();
    let opened = |event: &JournalEvent| matches!(event, JournalEvent::SegmentOpened { .. });
    while !has(&board.trip().unwrap(), opened) {
        assert!(began.elapsed() < Duration::from_secs(2), "no sound yet");
        sleep(Duration::from_millis(10));
    }
    let first_ms = began.elapsed().as_millis();
    recorder.wait_for_output("state: recording").unwrap();
    sleep(Duration::from_secs(1));
    assert_eq!(recorder.terminate().unwrap().code(), Some(0));
    let trip = board.trip().unwrap();
    let missing = |wanted: RecorderFault| {
        has(
            &trip,
            |event| matches!(event, JournalEvent::Fault { fault, .. } if *fault == wanted),
        )
    };
    assert!(missing(RecorderFault::Dial), "{:?}", trip.records());
    assert!(pieces(&trip)[0].samples.len() > 8_000);
    println!(
        "figure: recorder: without network, fix or dial its first file is open {first_ms} ms after its start"
    );
}
