//! The real rig-control daemon with its dummy radio (Debian package
//! libhamlib-utils).

use std::thread::sleep;
use std::time::Duration;

use jumpseat_core::journal::{JournalEvent, RecorderFault};
use jumpseat_simulator::scenario::ScriptedDial;
use jumpseat_test_kit::free_port;
use jumpseat_tests::board::TestBoard;
use jumpseat_tests::journal_story::story;
use jumpseat_tests::parts::RigctldDaemon;
use jumpseat_trip::Trip;

use crate::sound_boards::board_without_sound;

/// A board that reads the dial at this port, at this interval.
fn board(port: u16, every_s: f64) -> TestBoard {
    board_without_sound().with(&format!(
        "dial = {{ rigctld = \"127.0.0.1:{port}\", every_s = {every_s} }}"
    ))
}

fn turn(radio: &mut RigctldDaemon, hz: u64, mode: &str) {
    let mode = mode.to_owned();
    radio.turn(&ScriptedDial { hz, mode }).unwrap();
}

/// Time in nanoseconds, hertz and mode of every reading that was recorded.
fn settings(trip: &Trip) -> Vec<(u64, u64, String)> {
    trip.records()
        .iter()
        .filter_map(|record| match &record.event {
            JournalEvent::Dial { hz, mode } => Some((record.mono_ns, *hz, mode.to_string())),
            _ => None,
        })
        .collect()
}

#[test]
fn the_dial_is_written_on_change_and_again_after_the_daemon_came_back() {
    // A port that was free a moment ago.
    let port = free_port().unwrap();
    let board = board(port, 0.2);
    let mut recorder = board.record().unwrap();
    recorder.wait_for_output("Connection refused").unwrap();
    let mut radio = RigctldDaemon::start_at(port, board.folder()).unwrap();
    recorder.wait_for_output("answers").unwrap();
    turn(&mut radio, 14_250_000, "USB");
    sleep(Duration::from_millis(700));
    turn(&mut radio, 7_188_500, "USB");
    sleep(Duration::from_millis(700));
    drop(radio);
    // Which of the two it is depends on whether an answer was still on its way.
    let lost = ["hung up", "reset by peer"];
    recorder.wait_for_any_output(&lost).unwrap();
    let _radio = RigctldDaemon::start_at(port, board.folder()).unwrap();
    sleep(Duration::from_millis(2_500));
    assert_eq!(recorder.terminate().unwrap().code(), Some(0));

    let trip = board.trip().unwrap();
    let dials = settings(&trip);
    let at = |wanted: u64| {
        let mut readings = dials.iter();
        readings.position(|(_, hz, mode)| *hz == wanted && mode == "USB")
    };
    let (first, second) = (at(14_250_000), at(7_188_500));
    assert!(
        first.is_some() && second.is_some() && first < second,
        "{dials:?}"
    );
    // The dummy radio starts again at its own frequency.
    assert!(dials.len() > second.unwrap() + 1, "{dials:?}");
    assert_eq!(story(&trip, RecorderFault::Dial), "frfr");
}

#[test]
fn the_dial_is_read_at_once_on_a_key_edge_whatever_its_interval() {
    let port = free_port().unwrap();
    let board = board(port, 60.0);
    let mut radio = RigctldDaemon::start_at(port, board.folder()).unwrap();
    turn(&mut radio, 146_940_000, "FM");
    let mut recorder = board.record().unwrap();
    recorder.wait_for_output("answers").unwrap();
    // A repeater: the radio is on another frequency while it is keyed.
    for (down, hz) in [(true, 146_340_000), (false, 146_940_000)] {
        turn(&mut radio, hz, "FM");
        board.set_line("ptt", down).unwrap();
        sleep(Duration::from_millis(700));
    }
    assert_eq!(recorder.terminate().unwrap().code(), Some(0));
    let trip = board.trip().unwrap();
    let readings = settings(&trip);
    let hertz: Vec<u64> = readings.iter().map(|&(_, hz, _)| hz).collect();
    assert_eq!(
        hertz,
        [146_940_000, 146_340_000, 146_940_000],
        "{:?}",
        trip.records()
    );
    let edges = trip
        .records()
        .iter()
        .filter(|record| matches!(record.event, JournalEvent::Ptt { .. }));
    let waits: Vec<u64> = edges
        .zip(&readings[1..])
        .map(|(edge, (at_ns, ..))| (at_ns - edge.mono_ns) / 1_000_000)
        .collect();
    assert!(waits.iter().all(|&ms| ms < 200), "{waits:?} ms");
    println!(
        "figure: recorder: dial read {waits:?} ms after the key edges, its interval being 60 s"
    );
}
