//! The sound intake: every sample reaches the engine, and every missing one is a gap.

use std::sync::atomic::Ordering;

use jumpseat_core::journal::{JournalEvent, RecorderFault, ShutdownReason};
use jumpseat_recorder::config::RecorderConfig;
use jumpseat_recorder::engine::RecordingEngine;
use jumpseat_recorder::sound::{InletFactory, SoundInlet, SoundIntake, sound_queue};
use jumpseat_recorder::storage::{DiskStorage, SyncDurability};

use crate::support::events;

/// First sample, count, why.
type RecordedGap = (u64, u64, RecorderFault);
/// First sample, count.
type SegmentSpan = (u64, u64);

const MS: u64 = 1_000_000;
const START_NS: u64 = 9_000 * MS;

/// A sound card at 16 kHz whose samples count up, connected to an engine.
struct IntakeBench {
    card: tempfile::TempDir,
    kit: InletFactory,
    intake: SoundIntake,
    engine: RecordingEngine,
    now_ns: u64,
    next: i16,
}

impl IntakeBench {
    fn new() -> Self {
        let card = tempfile::tempdir().unwrap();
        let config = RecorderConfig::parse("card.board = \"3fa2c1\"").unwrap();
        let storage = Box::new(DiskStorage::new(SyncDurability::Relaxed));
        let boot = "9f2c41d0".try_into().unwrap();
        let engine = RecordingEngine::start(storage, card.path(), &config, boot, START_NS).unwrap();
        let (kit, consumer) = sound_queue();
        Self {
            card,
            kit,
            intake: SoundIntake::new(consumer, false),
            engine,
            now_ns: START_NS,
            next: 0,
        }
    }

    /// The sound card delivers this many periods of 20 ms, each on time.
    fn play(&mut self, inlet: &mut SoundInlet, periods: u64) {
        for _ in 0..periods {
            self.now_ns += 20 * MS;
            self.bring(inlet);
        }
    }

    /// The sound card delivers a period of 20 ms now.
    fn bring(&mut self, inlet: &mut SoundInlet) {
        let next = self.next;
        let frames = (0..320_i16).map(|n| [next.wrapping_add(n); 2]);
        inlet.push(frames, self.now_ns);
        self.next = next.wrapping_add(320);
    }

    fn drain(&mut self) -> bool {
        self.intake.drain(&mut self.engine, self.now_ns).unwrap()
    }

    /// Gaps and segments of the finished trip.
    fn finish(mut self) -> (Vec<RecordedGap>, Vec<SegmentSpan>) {
        self.intake.finish(&mut self.engine, self.now_ns).unwrap();
        let reason = ShutdownReason::EndOfInput;
        let dir = self.engine.finish(reason, self.now_ns).unwrap();
        let (mut gaps, mut segments) = (Vec::new(), Vec::new());
        for event in events(&dir) {
            match event {
                JournalEvent::Gap {
                    first_sample,
                    count,
                    fault,
                } => gaps.push((first_sample, count, fault)),
                JournalEvent::SegmentClosed {
                    first_sample,
                    count,
                    ..
                } => segments.push((first_sample, count)),
                _ => {}
            }
        }
        drop(self.card);
        (gaps, segments)
    }
}

#[test]
fn sound_without_a_hole_is_one_segment() {
    let mut bench = IntakeBench::new();
    let mut inlet = bench.kit.inlet(16_000).unwrap();
    for _ in 0..10 {
        bench.play(&mut inlet, 10);
        assert!(!bench.drain());
    }
    assert_eq!(bench.finish(), (vec![], vec![(0, 32_000)]));
}

#[test]
fn sound_that_came_after_the_lines_were_looked_at_waits() {
    let mut bench = IntakeBench::new();
    let mut inlet = bench.kit.inlet(16_000).unwrap();
    bench.play(&mut inlet, 50);
    let looked_ns = bench.now_ns;
    bench.play(&mut inlet, 50);
    bench.intake.drain(&mut bench.engine, looked_ns).unwrap();
    assert_eq!(bench.engine.arrived(), 16_000);
    bench.drain();
    assert_eq!(bench.engine.arrived(), 32_000);
    assert_eq!(bench.finish(), (vec![], vec![(0, 32_000)]));
}

#[test]
fn frames_that_found_no_room_are_a_gap_of_their_number() {
    let mut bench = IntakeBench::new();
    let mut inlet = bench.kit.inlet(16_000).unwrap();
    // The main loop is blocked for a minute; the queue holds 2,000 periods of two blocks
    // each.
    bench.play(&mut inlet, 3_000);
    bench.drain();
    bench.play(&mut inlet, 50);
    bench.drain();
    let (kept, lost) = (2_000 * 320, 1_000 * 320);
    let gaps = vec![(kept, lost, RecorderFault::Overflow)];
    let segments = vec![(0, kept), (kept + lost, 16_000)];
    assert_eq!(bench.finish(), (gaps, segments));
}

#[test]
fn an_overrun_of_the_device_is_a_gap_by_the_clock() {
    let mut bench = IntakeBench::new();
    let mut inlet = bench.kit.inlet(16_000).unwrap();
    bench.play(&mut inlet, 50);
    bench.drain();
    inlet.overruns().fetch_add(1, Ordering::Relaxed);
    bench.now_ns += 300 * MS;
    bench.play(&mut inlet, 50);
    bench.drain();
    let gaps = vec![(16_000, 4_800, RecorderFault::Overflow)];
    let segments = vec![(0, 16_000), (20_800, 16_000)];
    assert_eq!(bench.finish(), (gaps, segments));
}

#[test]
fn a_device_that_was_away_leaves_a_gap_of_that_time() {
    let mut bench = IntakeBench::new();
    let mut inlet = bench.kit.inlet(16_000).unwrap();
    bench.play(&mut inlet, 50);
    bench.drain();
    drop(inlet);
    bench.now_ns += 7_000 * MS;
    // It comes back as another device, with another rate.
    let mut inlet = bench.kit.inlet(48_000).unwrap();
    for _ in 0..50 {
        bench.now_ns += 20 * MS;
        inlet.push((0..960).map(|_| [100; 2]), bench.now_ns);
    }
    bench.drain();
    let gaps = vec![(16_000, 112_000, RecorderFault::Sound)];
    let segments = vec![(0, 16_000), (128_000, 16_000)];
    assert_eq!(bench.finish(), (gaps, segments));
}

#[test]
fn a_device_that_brings_more_samples_than_time_is_opened_again() {
    let mut bench = IntakeBench::new();
    let mut inlet = bench.kit.inlet(16_000).unwrap();
    bench.play(&mut inlet, 50);
    assert!(!bench.drain());
    let mut again = 0;
    for _ in 0..10 {
        for _ in 0..100 {
            bench.bring(&mut inlet);
        }
        again += u32::from(bench.drain());
    }
    assert_eq!(again, 1, "it is reported once");
    let (_, segments) = bench.finish();
    // Little more than the two seconds that a device may be ahead.
    assert!(
        segments.len() == 1 && segments[0].1 < 16_000 * 6,
        "{segments:?}"
    );
}
