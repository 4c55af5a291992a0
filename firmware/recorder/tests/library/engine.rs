//! The engine: cuts at key edges, a card that runs full, the signalled states.

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use jumpseat_core::AudioFrame;
use jumpseat_core::journal::{JournalEvent, RecorderFault, ShutdownReason, TimeSource, clip};
use jumpseat_core::signal::OperatorSignal;
use jumpseat_recorder::config::RecorderConfig;
use jumpseat_recorder::engine::RecordingEngine;
use jumpseat_recorder::input_line::InputLine;

use crate::support::{WrappedDisk, events};

const SECOND_NS: u64 = 1_000_000_000;

fn engine(card: &Path, full: &Arc<AtomicBool>) -> RecordingEngine {
    let config = "card.board = \"3fa2c1\"\ngps.gpsd = \"127.0.0.1:1\"\ngps.alarm_after_s = 30";
    let config = RecorderConfig::parse(config).unwrap();
    let storage = Box::new(WrappedDisk::filling_up(Arc::clone(full)));
    RecordingEngine::start(storage, card, &config, "9f2c41d0".try_into().unwrap(), 0).unwrap()
}

/// Plays this many seconds of sound, from the second `from` on.
fn play(engine: &mut RecordingEngine, from: u64, seconds: u64) {
    for period in from * 50..(from + seconds) * 50 {
        let now_ns = (period + 1) * SECOND_NS / 50;
        let frames = [AudioFrame { rx: 500, tx: 900 }; 320];
        engine.clock(now_ns, (period + 1) * 320);
        engine.audio(&frames, now_ns);
        engine.poll(now_ns);
    }
}

#[test]
fn an_over_from_before_the_first_sample_came_is_cut_where_the_key_moved() {
    let card = tempfile::tempdir().unwrap();
    let mut engine = engine(card.path(), &Arc::new(AtomicBool::new(false)));
    // The samples of these three seconds arrive late: the card kept the caller waiting.
    engine.line(InputLine::Ptt, true, SECOND_NS);
    engine.line(InputLine::Ptt, false, 2 * SECOND_NS);
    engine.settle_lines(3 * SECOND_NS);
    play(&mut engine, 0, 3);
    let dir = engine
        .finish(ShutdownReason::Signal, 3 * SECOND_NS)
        .unwrap();
    let segments: Vec<(u64, u64)> = events(&dir)
        .into_iter()
        .filter_map(|event| match event {
            JournalEvent::SegmentClosed {
                first_sample,
                count,
                ..
            } => Some((first_sample, count)),
            _ => None,
        })
        .collect();
    assert_eq!(segments, [(0, 16_000), (16_000, 16_000), (32_000, 16_000)]);
}

/// A card that is full from the fifth second on, for this long; the seconds that are lost.
#[track_caller]
fn check_full(seconds: u64, lost_s: std::ops::Range<f64>) {
    let card = tempfile::tempdir().unwrap();
    let full = Arc::new(AtomicBool::new(false));
    let mut engine = engine(card.path(), &full);
    let dir = engine.dir();
    play(&mut engine, 0, 5);
    assert_eq!(engine.states(), [OperatorSignal::Recording]);
    full.store(true, Ordering::Relaxed);
    play(&mut engine, 5, seconds);
    assert!(engine.states().contains(&OperatorSignal::CardNearlyFull));
    assert!(!engine.states().contains(&OperatorSignal::Recording));
    full.store(false, Ordering::Relaxed);
    play(&mut engine, 5 + seconds, 20);
    let end = 25 + seconds;
    let trouble = engine
        .finish(ShutdownReason::EndOfInput, end * SECOND_NS)
        .unwrap_err();
    assert!(trouble.to_string().contains("000001-rx.wav"), "{trouble}");

    let events = events(&dir);
    let story: String = events
        .iter()
        .filter_map(|event| match event {
            JournalEvent::Fault {
                fault: RecorderFault::Storage,
                ..
            } => Some('f'),
            JournalEvent::Recovery {
                fault: RecorderFault::Storage,
                ..
            } => Some('r'),
            _ => None,
        })
        .collect();
    assert_eq!(story, "fr");
    let lost: u64 = events
        .iter()
        .filter_map(|event| match *event {
            JournalEvent::Gap { count, .. } => Some(count),
            _ => None,
        })
        .sum();
    assert!(lost_s.contains(&(lost as f64 / 16_000.0)), "{lost}");
    let kept: u64 = events
        .iter()
        .filter_map(|event| match *event {
            JournalEvent::SegmentClosed { count, .. }
            | JournalEvent::SegmentAbandoned { count, .. } => Some(count),
            _ => None,
        })
        .sum();
    assert_eq!(kept + lost, end * 16_000, "every sample is accounted for");
    let files = std::fs::read_dir(dir.join("audio")).unwrap().count();
    assert_eq!(files, 2, "nothing but the two files with sound in them");
}

#[test]
fn a_full_card_is_told_once_and_memory_bridges_half_a_minute() {
    check_full(20, 0.0..0.001);
    // The card is tried again every five seconds.
    check_full(60, 30.0..37.0);
}

#[test]
fn a_receiver_without_a_fix_is_heard_of_until_it_has_one() {
    let card = tempfile::tempdir().unwrap();
    let mut engine = engine(card.path(), &Arc::new(AtomicBool::new(false)));
    play(&mut engine, 0, 29);
    assert_eq!(engine.states(), [OperatorSignal::Recording]);
    play(&mut engine, 29, 3);
    assert_eq!(
        engine.states(),
        [OperatorSignal::NoTime, OperatorSignal::Recording]
    );
    let fix = |valid| JournalEvent::TimeFix {
        utc: clip("2026-05-14T15:02:11Z"),
        source: TimeSource::Gpsd,
        valid,
        within_ms: None,
    };
    engine.gps(vec![fix(false)], 32 * SECOND_NS);
    play(&mut engine, 32, 1);
    assert_eq!(
        engine.states(),
        [OperatorSignal::NoTime, OperatorSignal::Recording]
    );
    engine.gps(vec![fix(true)], 33 * SECOND_NS);
    play(&mut engine, 33, 60);
    assert_eq!(engine.states(), [OperatorSignal::Recording]);
}

#[test]
fn a_mark_is_acknowledged_once_it_is_safe_and_silence_is_told() {
    let card = tempfile::tempdir().unwrap();
    let mut engine = engine(card.path(), &Arc::new(AtomicBool::new(false)));
    play(&mut engine, 0, 1);
    engine.line(InputLine::Mark, true, SECOND_NS);
    assert_eq!(engine.take_requests(), []);
    engine.poll(SECOND_NS + 12_000_000);
    assert_eq!(engine.take_requests(), [OperatorSignal::MarkAcknowledged]);
    engine.line(InputLine::Mark, false, 2 * SECOND_NS);
    engine.poll(6 * SECOND_NS);
    assert_eq!(engine.take_requests(), []);
    assert_eq!(engine.states(), [OperatorSignal::NoSound]);
}
