//! The ignition goes off and on again, and the supply fails.

use std::fs;
use std::thread::sleep;
use std::time::Duration;

use jumpseat_core::journal::{JournalEvent, ShutdownReason};
use jumpseat_tests::board::{RunningRecorder, TestBoard};

use crate::sound_boards::{board_with_sound, board_without_sound, noise, pieces};

/// The same board, which stays awake for this many seconds after the ignition goes off, 10
/// s at most, and then creates a file.
fn parking(board: TestBoard, stay_awake_s: u32) -> TestBoard {
    let done = board.path("powered-down");
    board.with(&format!(
        "ignition = {{ stay_awake_s = {stay_awake_s}, at_most_s = 10, power_down = [\"touch\", {done:?}] }}"
    ))
}

fn powered_down(board: &TestBoard) -> bool {
    board.path("powered-down").exists()
}

#[track_caller]
fn will_power_down(board: &TestBoard, recorder: &RunningRecorder) {
    let down = || powered_down(board);
    recorder.wait_until("the power-down", down).unwrap();
}

#[test]
fn ignition_off_closes_the_trip_and_on_again_begins_another_without_a_restart() {
    let (board, _sound) = board_with_sound(noise(20));
    let board = parking(board, 10);
    let mut recorder = board.record().unwrap();
    board.set_line("ignition", true).unwrap();
    sleep(Duration::from_millis(1_500));
    board.set_line("ignition", false).unwrap();
    recorder.wait_for_output("ignition off").unwrap();
    recorder.wait_for_output("parked").unwrap();
    sleep(Duration::from_millis(700));
    board.set_line("ignition", true).unwrap();
    recorder.wait_for_output("ignition on").unwrap();
    sleep(Duration::from_millis(1_500));
    assert_eq!(recorder.terminate().unwrap().code(), Some(0));

    let trips = board.trips().unwrap();
    let reasons: Vec<&JournalEvent> = trips
        .iter()
        .map(|trip| &trip.records().last().unwrap().event)
        .collect();
    let ended = |reason| JournalEvent::Shutdown { reason };
    assert_eq!(
        reasons,
        [
            &ended(ShutdownReason::Ignition),
            &ended(ShutdownReason::Signal)
        ]
    );
    assert_eq!(trips[0].records()[0].boot, trips[1].records()[0].boot);
    for trip in &trips {
        let pieces = pieces(trip);
        let samples: usize = pieces.iter().map(|piece| piece.samples.len()).sum();
        assert!(
            (16_000..40_000).contains(&samples),
            "{samples} {:?}",
            trip.records()
        );
        assert!(pieces[0].first == 0 && pieces.iter().all(|piece| piece.closed));
    }
    assert!(!powered_down(&board));
}

#[test]
fn the_board_stays_awake_for_its_time_and_then_powers_down() {
    let board = parking(board_without_sound(), 2);
    let recorder = board.record().unwrap();
    board.set_line("ignition", true).unwrap();
    board.set_line("ignition", false).unwrap();
    sleep(Duration::from_millis(100));
    board.set_line("ignition", false).unwrap();
    recorder.wait_for_output("ignition off").unwrap();
    assert!(!powered_down(&board));
    will_power_down(&board, &recorder);
    recorder.wait_for_output("powering down by touch").unwrap();
}

#[test]
fn a_pull_that_touches_its_lease_keeps_the_board_awake() {
    let board = parking(board_without_sound(), 2);
    let recorder = board.record().unwrap();
    board.set_line("ignition", false).unwrap();
    recorder.wait_for_output("ignition off").unwrap();
    fs::write(board.card().join("pull-lease"), "").unwrap();
    sleep(Duration::from_millis(4_000));
    assert!(!powered_down(&board), "it slept in mid-pull");
    // After ten seconds at most, however long the pull takes.
    will_power_down(&board, &recorder);
}

#[test]
fn a_supply_that_runs_out_closes_the_trip_and_powers_down_at_once() {
    let (board, _sound) = board_with_sound(noise(20));
    let board = parking(board, 10);
    let recorder = board.record().unwrap();
    sleep(Duration::from_millis(1_000));
    board.set_line("low_supply", true).unwrap();
    will_power_down(&board, &recorder);
    recorder.wait_for_output("the supply is failing").unwrap();
    let trip = board.trip().unwrap();
    let reason = ShutdownReason::LowSupply;
    let last = &trip.records().last().unwrap().event;
    assert_eq!(*last, JournalEvent::Shutdown { reason });
}
