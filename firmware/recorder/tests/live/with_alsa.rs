//! The real recorder on a real ALSA device (its `file` plugin on a named pipe;
//! Debian package libasound2).

use std::f64::consts::TAU;
use std::thread::sleep;
use std::time::Duration;

use super::board::feeder::{PERIOD, noise};
use super::board::{Board, Feeder};
use jumpseat_core::journal::{Direction, Event, Fault, ShutdownReason};

const SECOND: Duration = Duration::from_secs(1);

#[test]
fn at_16_khz_every_sample_is_on_the_card_bit_by_bit_and_cut_at_the_key_edges() {
    let board = Board::new().with_sound(16_000);
    let frames = noise(6, 16_000);
    let feeder = Feeder::start(&board.path("sound"), 16_000, frames.clone());
    let recorder = board.record();
    sleep(2 * SECOND);
    // A bouncing contact.
    for line in ["ptt 1", "ptt 0", "ptt 1"] {
        board.say(line);
    }
    sleep(SECOND);
    board.say("mark 1");
    board.say("mark 0");
    board.say("ptt 0");
    feeder.wait();
    // The device says nothing more now: it hangs.
    recorder.hears("no sound coming in");
    assert_eq!(recorder.terminate().code(), Some(0));

    let trip = board.trip();
    let journal = trip.journal();
    let pieces = trip.pieces();
    let ways: Vec<Direction> = pieces.iter().map(|piece| piece.direction).collect();
    use Direction::{Rx, Tx};
    assert_eq!(ways, [Rx, Tx, Rx], "{journal}");
    let mut next = 0;
    for piece in &pieces {
        assert!(piece.closed);
        assert_eq!(piece.first, next);
        for (&sample, frame) in piece.samples.iter().zip(&frames[next as usize..]) {
            let fed = if piece.direction == Rx {
                frame[0]
            } else {
                frame[1]
            };
            assert_eq!(sample, fed, "sample {next}");
            next += 1;
        }
    }
    assert_eq!(next, frames.len() as u64, "{journal}");
    let keyed = pieces[1].samples.len();
    // A second, as a machine that does much else counts it.
    assert!(
        (12_000..20_000).contains(&keyed),
        "keyed for {keyed} samples"
    );
    let count = |wanted: &Event| trip.records.iter().filter(|r| r.event == *wanted).count();
    assert_eq!(count(&Event::Ptt { down: true }), 1);
    assert_eq!(count(&Event::Ptt { down: false }), 1);
    let last = trip.records.last().unwrap();
    let reason = ShutdownReason::Signal;
    assert_eq!(last.event, Event::Shutdown { reason });
    for (seq, record) in (1..).zip(&trip.records) {
        assert_eq!(record.seq, seq);
    }
    let silent = |event: &Event| {
        matches!(
            event,
            Event::Fault {
                fault: Fault::NoSamples,
                ..
            }
        )
    };
    assert!(trip.has(silent));
}

#[test]
fn a_held_mark_is_acknowledged_and_clock_pairs_fit_the_rate() {
    let board = Board::new().with_sound(16_000);
    let feeder = Feeder::start(&board.path("sound"), 16_000, noise(13, 16_000));
    let recorder = board.record();
    sleep(SECOND);
    board.say("mark 1");
    recorder.hears("mark acknowledged");
    board.say("mark 0");
    feeder.wait();
    assert_eq!(recorder.terminate().code(), Some(0));
    let trip = board.trip();
    let pairs: Vec<(u64, u64)> = trip
        .records
        .iter()
        .filter_map(|record| match record.event {
            Event::Clock { sample } => Some((record.mono_ns, sample)),
            _ => None,
        })
        .collect();
    assert!(pairs.len() >= 2, "{}", trip.journal());
    let (from, to) = (pairs[0], pairs[1]);
    let samples = (to.1 - from.1) as f64;
    let seconds = (to.0 - from.0) as f64 / 1e9;
    // The feeder is no crystal: within half a per cent.
    let rate = samples / seconds;
    assert!((rate - 16_000.0).abs() < 80.0, "{rate}");
    assert_eq!(
        trip.records
            .iter()
            .filter(|r| r.event == Event::Mark {})
            .count(),
        1
    );
    let levels = trip
        .records
        .iter()
        .filter(|r| matches!(r.event, Event::Level { .. }));
    assert!(levels.count() >= 4);
}

#[test]
fn at_48_khz_a_tone_arrives_as_the_same_tone_at_16_khz() {
    let board = Board::new().with_sound(48_000);
    let tone = |n: usize, rate: f64| 12_000.0 * (TAU * 1_000.0 * n as f64 / rate).sin();
    let count = 4 * 48_000 / PERIOD * PERIOD;
    let frames = (0..count).map(|n| [tone(n, 48_000.0).round() as i16, 0]);
    let feeder = Feeder::start(&board.path("sound"), 48_000, frames.collect());
    let recorder = board.record();
    feeder.wait();
    sleep(SECOND / 4);
    assert_eq!(recorder.terminate().code(), Some(0));
    let pieces = board.trip().pieces();
    let got = &pieces[0].samples;
    assert_eq!((pieces.len(), got.len()), (1, count / 3));
    let worst = (2_000..got.len() - 2_000)
        .map(|n| (f64::from(got[n]) - tone(n, 16_000.0)).abs())
        .fold(0.0, f64::max);
    assert!(worst < 3.0, "off by {worst} steps");
}
