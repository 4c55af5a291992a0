//! Sound from a real ALSA device (its `file` plugin on a named pipe) to the card.

use std::f64::consts::TAU;
use std::thread::sleep;
use std::time::Duration;

use jumpseat_core::journal::{AudioDirection, JournalEvent, RecorderFault, ShutdownReason};
use jumpseat_tests::journal_story::{has, times};

use crate::sound_boards::{board_with_sound, board_with_sound_at, check_whole, noise, pieces};

const SECOND: Duration = Duration::from_secs(1);

#[test]
fn at_16_khz_every_sample_is_on_the_card_bit_by_bit_and_cut_at_the_key_edges() {
    let frames = noise(6);
    let (board, sound) = board_with_sound(frames.clone());
    let mut recorder = board.record().unwrap();
    sleep(2 * SECOND);
    // A bouncing contact.
    for down in [true, false, true] {
        board.set_line("ptt", down).unwrap();
    }
    sleep(SECOND);
    board.set_line("mark", true).unwrap();
    board.set_line("mark", false).unwrap();
    board.set_line("ptt", false).unwrap();
    sound.wait();
    // The device hangs now.
    recorder.wait_for_output("no sound coming in").unwrap();
    assert_eq!(recorder.terminate().unwrap().code(), Some(0));

    let trip = board.trip().unwrap();
    let journal = trip.records();
    let pieces = pieces(&trip);
    let directions: Vec<AudioDirection> = pieces.iter().map(|piece| piece.direction).collect();
    use AudioDirection::{Rx, Tx};
    assert_eq!(directions, [Rx, Tx, Rx], "{journal:?}");
    check_whole(&pieces, &frames);
    let keyed = pieces[1].samples.len();
    // A second, to within a busy machine's delays.
    assert!(
        (12_000..20_000).contains(&keyed),
        "keyed for {keyed} samples"
    );
    for down in [true, false] {
        assert_eq!(times(&trip, &JournalEvent::Ptt { down }).len(), 1);
    }
    let last = journal.last().unwrap();
    let reason = ShutdownReason::Signal;
    assert_eq!(last.event, JournalEvent::Shutdown { reason });
    for (seq, record) in (1..).zip(journal) {
        assert_eq!(record.seq, seq);
    }
    let silent = |event: &JournalEvent| {
        matches!(
            event,
            JournalEvent::Fault {
                fault: RecorderFault::NoSamples,
                ..
            }
        )
    };
    assert!(has(&trip, silent));
}

#[test]
fn a_held_mark_is_acknowledged_and_clock_pairs_fit_the_rate() {
    let (board, sound) = board_with_sound(noise(13));
    let mut recorder = board.record().unwrap();
    sleep(SECOND);
    board.set_line("mark", true).unwrap();
    recorder.wait_for_output("mark acknowledged").unwrap();
    board.set_line("mark", false).unwrap();
    sound.wait();
    assert_eq!(recorder.terminate().unwrap().code(), Some(0));
    let trip = board.trip().unwrap();
    let pairs: Vec<(u64, u64)> = trip
        .records()
        .iter()
        .filter_map(|record| match record.event {
            JournalEvent::Clock { sample } => Some((record.mono_ns, sample)),
            _ => None,
        })
        .collect();
    assert!(pairs.len() >= 2, "{:?}", trip.records());
    let (from, to) = (pairs[0], pairs[1]);
    let samples = (to.1 - from.1) as f64;
    let seconds = (to.0 - from.0) as f64 / 1e9;
    // The feeder is not crystal-controlled: within half a per cent.
    let rate = samples / seconds;
    assert!((rate - 16_000.0).abs() < 80.0, "{rate}");
    assert_eq!(times(&trip, &JournalEvent::Mark {}).len(), 1);
    let levels = trip
        .records()
        .iter()
        .filter(|r| matches!(r.event, JournalEvent::Level { .. }));
    assert!(levels.count() >= 4);
}

#[test]
fn at_48_khz_a_tone_arrives_as_the_same_tone_at_16_khz() {
    let tone = |n: usize, rate: f64| 12_000.0 * (TAU * 1_000.0 * n as f64 / rate).sin();
    let count = 4 * 48_000;
    let frames = (0..count).map(|n| [tone(n, 48_000.0).round() as i16, 0]);
    let (board, sound) = board_with_sound_at(48_000, frames.collect());
    let mut recorder = board.record().unwrap();
    sound.wait();
    sleep(SECOND / 4);
    assert_eq!(recorder.terminate().unwrap().code(), Some(0));
    let pieces = pieces(&board.trip().unwrap());
    let got = &pieces[0].samples;
    assert_eq!((pieces.len(), got.len()), (1, count / 3));
    let worst = (2_000..got.len() - 2_000)
        .map(|n| (f64::from(got[n]) - tone(n, 16_000.0)).abs())
        .fold(0.0, f64::max);
    assert!(worst < 3.0, "off by {worst} steps");
}
