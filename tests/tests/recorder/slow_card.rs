//! A card that hangs for seconds in a sync, as worn ones do (common practice).

use std::fs;
use std::ops::Range;
use std::path::PathBuf;
use std::thread::{self, sleep};
use std::time::Duration;

use jumpseat_core::journal::{AudioDirection, JournalEvent};
use jumpseat_tests::board::{RunningRecorder, TestBoard};
use jumpseat_tests::journal_story::{has, times};
use jumpseat_tests::parts::SoundFifo;
use jumpseat_trip::Trip;

use crate::preload;
use crate::sound_boards::{RecordedFile, board_with_sound, check_whole, noise, pieces};

const SECOND: Duration = Duration::from_secs(1);
/// The watchdog waits 30 s, and the sound queue lasts a minute at this rate.
const HANGS: u32 = 9;

/// A board that receives these frames, its recorder, and the file that makes its card hang.
fn on_a_card_that_can_hang(
    frames: Vec<[i16; 2]>,
) -> (TestBoard, SoundFifo, RunningRecorder, PathBuf) {
    let (board, sound) = board_with_sound(frames);
    let library = preload::library("fails", board.folder());
    let hanging = board.path("hanging");
    let started = board.record_with(|command| {
        command.env("LD_PRELOAD", library);
        command.env("JUMPSEAT_TEST_HANGING", &hanging);
    });
    (board, sound, started.unwrap(), hanging)
}

#[test]
fn a_card_that_hangs_for_nine_seconds_costs_no_sample_no_edge_and_no_mark() {
    let frames = noise(14);
    let (board, sound, mut recorder, hanging) = on_a_card_that_can_hang(frames.clone());
    sleep(2 * SECOND);
    fs::write(&hanging, "").unwrap();
    sleep(2 * SECOND);
    board.set_line("ptt", true).unwrap();
    sleep(3 * SECOND);
    board.set_line("ptt", false).unwrap();
    sleep(SECOND);
    board.set_line("mark", true).unwrap();
    sleep(SECOND);
    board.set_line("mark", false).unwrap();
    sleep(HANGS * SECOND - 7 * SECOND);
    // What is not synced is not acknowledged.
    assert!(!recorder.output().contains("mark acknowledged"));
    fs::remove_file(&hanging).unwrap();
    recorder.wait_for_output("mark acknowledged").unwrap();
    sound.wait();
    assert_eq!(recorder.terminate().unwrap().code(), Some(0));

    let trip = board.trip().unwrap();
    let journal = trip.records();
    let faulty = |event: &JournalEvent| match event {
        JournalEvent::Fault { detail, .. } => !detail.contains("configured"),
        JournalEvent::Gap { .. } => true,
        _ => false,
    };
    assert!(!has(&trip, faulty), "{journal:?}");
    let pieces = pieces(&trip);
    use AudioDirection::{Rx, Tx};
    let directions: Vec<AudioDirection> = pieces.iter().map(|piece| piece.direction).collect();
    assert_eq!(directions, [Rx, Tx, Rx], "{journal:?}");
    check_whole(&pieces, &frames);
    // The over is as long as the key was down, to within a busy machine's delays.
    let keyed = pieces[1].samples.len();
    assert!(
        (44_800..54_400).contains(&keyed),
        "keyed for {keyed} samples"
    );
    for down in [true, false] {
        assert_eq!(times(&trip, &JournalEvent::Ptt { down }).len(), 1);
    }
    assert_eq!(times(&trip, &JournalEvent::Mark {}).len(), 1);
    println!(
        "figure: recorder: a card that hung for {HANGS} s: {0} of {0} samples on it, bit for bit",
        frames.len()
    );
}

/// The card hangs wherever the recorder waits for it: when the edge is recorded, when the
/// file of the previous over is closed, when the name of the next is synced.
#[test]
fn an_over_is_cut_where_the_key_moved_also_when_the_card_hangs_just_then() {
    const AFTER_MS: [u64; 6] = [0, 40, 80, 110, 140, 200];
    let (board, _sound, mut recorder, hanging) = on_a_card_that_can_hang(noise(20));
    sleep(2 * SECOND);
    for after_ms in AFTER_MS {
        board.set_line("ptt", true).unwrap();
        sleep(Duration::from_millis(after_ms));
        fs::write(&hanging, "").unwrap();
        sleep(Duration::from_millis(800 - after_ms));
        board.set_line("ptt", false).unwrap();
        sleep(Duration::from_millis(700));
        fs::remove_file(&hanging).unwrap();
        sleep(SECOND);
    }
    assert_eq!(recorder.terminate().unwrap().code(), Some(0));

    let trip = board.trip().unwrap();
    let pieces = pieces(&trip);
    let keyed: Vec<&RecordedFile> = pieces
        .iter()
        .filter(|p| p.direction == AudioDirection::Tx)
        .collect();
    let edges = |down| times(&trip, &JournalEvent::Ptt { down });
    let (downs, ups) = (edges(true), edges(false));
    assert_eq!(
        (keyed.len(), downs.len(), ups.len()),
        (6, 6, 6),
        "{:?}",
        trip.records()
    );
    let mut worst = 0.0_f64;
    for ((over, down_ns), up_ns) in keyed.iter().zip(downs).zip(ups) {
        let ends = over.first + over.samples.len() as u64;
        for (cut, edge_ns) in [(over.first, down_ns), (ends, up_ns)] {
            worst = worst.max((ms_at(&trip, edge_ns) - cut as f64 / 16.0).abs());
        }
    }
    println!(
        "figure: recorder: cuts at most {worst:.0} ms from the key edges while the card hangs for 0.7 to 1.5 s"
    );
    assert!(worst < 60.0, "{worst} ms");
}

/// Ends a trip while the card hangs: the card hangs, the key goes down and up, the trip is
/// to end, and the card still hangs.
#[track_caller]
fn check_end(
    name: &str,
    end: impl FnOnce(&TestBoard, &mut RunningRecorder),
    kept_after_end: Range<f64>,
) {
    let (board, _sound, mut recorder, hanging) = on_a_card_that_can_hang(noise(20));
    board.set_line("ignition", true).unwrap();
    sleep(2 * SECOND);
    fs::write(&hanging, "").unwrap();
    sleep(SECOND);
    board.set_line("ptt", true).unwrap();
    sleep(SECOND);
    board.set_line("ptt", false).unwrap();
    sleep(SECOND);
    let over = thread::spawn(move || {
        sleep(2 * SECOND);
        fs::remove_file(hanging).unwrap();
    });
    let ended_ns = jumpseat_recorder::monotonic::now_ns();
    end(&board, &mut recorder);
    over.join().unwrap();

    let trip = board.trip().unwrap();
    let pieces = pieces(&trip);
    let directions: Vec<AudioDirection> = pieces.iter().map(|piece| piece.direction).collect();
    assert_eq!(
        directions,
        [AudioDirection::Rx, AudioDirection::Tx, AudioDirection::Rx],
        "{:?}",
        trip.records()
    );
    let [down_ns] = times(&trip, &JournalEvent::Ptt { down: true })[..] else {
        panic!()
    };
    let [up_ns] = times(&trip, &JournalEvent::Ptt { down: false })[..] else {
        panic!()
    };
    for (cut, edge_ns) in [(pieces[1].first, down_ns), (pieces[2].first, up_ns)] {
        let off = ms_at(&trip, edge_ns) - cut as f64 / 16.0;
        assert!(off.abs() < 60.0, "{off} ms");
    }
    let last = pieces[2].first + pieces[2].samples.len() as u64;
    let kept_s = last as f64 / 16_000.0 - ms_at(&trip, ended_ns) / 1e3;
    println!(
        "figure: recorder: {name} while the card hangs: sound until {kept_s:+.2} s after that, no edge lost"
    );
    assert!(kept_after_end.contains(&kept_s), "{kept_s}");
}

#[test]
fn a_recorder_that_is_stopped_while_its_card_hangs_writes_all_it_heard() {
    check_end(
        "stopped",
        |_, recorder| assert_eq!(recorder.terminate().unwrap().code(), Some(0)),
        // It records on until the card answers.
        1.5..4.0,
    );
}

#[test]
fn a_trip_that_the_ignition_ends_while_its_card_hangs_is_whole() {
    check_end(
        "ignition off",
        |board, recorder| {
            board.set_line("ignition", false).unwrap();
            recorder.wait_for_output("ignition off").unwrap();
        },
        // The sound until the card answers has arrived by then, and is kept.
        -0.2..4.0,
    );
}

/// This monotonic time on the sample clock, in milliseconds.
fn ms_at(trip: &Trip, mono_ns: u64) -> f64 {
    let clocks = trip
        .records()
        .iter()
        .filter_map(|record| match record.event {
            JournalEvent::Clock { sample } => Some((record.mono_ns, sample)),
            _ => None,
        });
    let (at_ns, sample) = clocks
        .min_by_key(|&(at_ns, _)| at_ns.abs_diff(mono_ns))
        .unwrap();
    sample as f64 / 16.0 + (mono_ns as f64 - at_ns as f64) / 1e6
}
