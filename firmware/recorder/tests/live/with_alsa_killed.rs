//! The recorder is killed in the middle of an over (Debian package libasound2).

use std::thread::sleep;
use std::time::Duration;

use super::board::feeder::noise;
use super::board::{Board, Feeder};
use jumpseat_core::journal::{Direction, Event};

#[test]
fn a_kill_in_an_over_costs_at_most_two_seconds_and_no_edge() {
    let board = Board::new().with_sound(16_000);
    let frames = noise(8, 16_000);
    let feeder = Feeder::start(&board.path("sound"), 16_000, frames.clone());
    let recorder = board.record();
    sleep(Duration::from_millis(1_500));
    board.say("ptt 1");
    sleep(Duration::from_millis(3_400));
    board.say("mark 1");
    recorder.hears("mark acknowledged");
    let fed = feeder.fed();
    recorder.kill();

    let trip = board.trip();
    let pieces = trip.pieces();
    let ways: Vec<(Direction, bool)> = pieces.iter().map(|p| (p.direction, p.closed)).collect();
    assert_eq!(ways, [(Direction::Rx, true), (Direction::Tx, false)]);
    let over = &pieces[1];
    let kept = over.first + over.samples.len() as u64;
    for (&sample, frame) in over.samples.iter().zip(&frames[over.first as usize..]) {
        assert_eq!(sample, frame[1]);
    }
    let lost = fed.saturating_sub(kept) as f64 / 16_000.0;
    println!("lost by the kill: {lost:.2} s");
    assert!(lost <= 2.0, "{lost} s lost");
    assert!(trip.has(|event| *event == Event::Ptt { down: true }));
    assert!(trip.has(|event| *event == Event::Mark {}));
}
