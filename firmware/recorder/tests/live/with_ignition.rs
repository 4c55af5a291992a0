//! The ignition goes off and on again, and the supply runs out (Debian package
//! libasound2).

use std::fs;
use std::thread::sleep;
use std::time::Duration;

use super::board::feeder::noise;
use super::board::{Board, Feeder, wait_for};
use jumpseat_core::journal::{Event, ShutdownReason};

/// A board that stays awake for so many seconds and then leaves a file.
fn board(stay_awake_s: u32) -> Board {
    let board = Board::new().with_sound(16_000);
    let done = board.path("powered-down");
    let done = done.display();
    board.with(&format!(
        "ignition = {{ stay_awake_s = {stay_awake_s}, at_most_s = 10, power_down = [\"touch\", \"{done}\"] }}"
    ))
}

#[test]
fn ignition_off_closes_the_trip_and_on_again_begins_another_without_a_restart() {
    let board = board(10);
    let _feeder = Feeder::start(&board.path("sound"), 16_000, noise(20, 16_000));
    let recorder = board.record();
    board.say("ignition 1");
    sleep(Duration::from_millis(1_500));
    board.say("ignition 0");
    recorder.hears("ignition off");
    recorder.hears("parked");
    sleep(Duration::from_millis(700));
    board.say("ignition 1");
    recorder.hears("ignition on");
    sleep(Duration::from_millis(1_500));
    assert_eq!(recorder.terminate().code(), Some(0));

    let trips = board.trips();
    let reasons: Vec<&Event> = trips
        .iter()
        .map(|trip| &trip.records.last().unwrap().event)
        .collect();
    let ended = |reason| Event::Shutdown { reason };
    assert_eq!(
        reasons,
        [
            &ended(ShutdownReason::Ignition),
            &ended(ShutdownReason::Signal)
        ]
    );
    assert_eq!(trips[0].records[0].boot, trips[1].records[0].boot);
    for trip in &trips {
        let pieces = trip.pieces();
        let samples: usize = pieces.iter().map(|piece| piece.samples.len()).sum();
        assert!((16_000..40_000).contains(&samples), "{}", trip.journal());
        assert!(pieces[0].first == 0 && pieces.iter().all(|piece| piece.closed));
    }
    assert!(!board.path("powered-down").exists());
}

#[test]
fn the_board_stays_awake_for_its_time_and_then_powers_down() {
    let board = board(2);
    let recorder = board.record();
    board.say("ignition 1");
    board.say("ignition 0");
    sleep(Duration::from_millis(100));
    board.say("ignition 0");
    recorder.hears("ignition off");
    assert!(!board.path("powered-down").exists());
    wait_for(&board.path("log"), "the power-down", || {
        board.path("powered-down").exists()
    });
    recorder.hears("powering down by touch");
}

#[test]
fn a_pull_that_touches_its_lease_keeps_the_board_awake() {
    let board = board(2);
    let recorder = board.record();
    board.say("ignition 0");
    recorder.hears("ignition off");
    fs::write(board.path("card/pull-lease"), "").unwrap();
    sleep(Duration::from_millis(4_000));
    assert!(!board.path("powered-down").exists(), "it slept in mid-pull");
    // Ten seconds at most, however long the pull goes on.
    wait_for(&board.path("log"), "the power-down", || {
        board.path("powered-down").exists()
    });
}

#[test]
fn a_supply_that_runs_out_closes_the_trip_and_powers_down_at_once() {
    let board = board(10);
    let _feeder = Feeder::start(&board.path("sound"), 16_000, noise(20, 16_000));
    let recorder = board.record();
    sleep(Duration::from_millis(1_000));
    board.say("low_supply 1");
    wait_for(&board.path("log"), "the power-down", || {
        board.path("powered-down").exists()
    });
    recorder.hears("the supply runs out");
    let last = board.trip().records.last().unwrap().event.clone();
    let reason = ShutdownReason::LowSupply;
    assert_eq!(last, Event::Shutdown { reason });
}
