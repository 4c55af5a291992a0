//! A drive of a whole day, fed as fast as possible through the real queue.

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::Ordering;
use std::time::Instant;

use jumpseat_core::journal::{JournalEvent, PositionSource, ShutdownReason, TimeSource, clip};
use jumpseat_recorder::config::RecorderConfig;
use jumpseat_recorder::engine::RecordingEngine;
use jumpseat_recorder::input_line::InputLine;
use jumpseat_recorder::rig_reading::RigReading;
use jumpseat_recorder::sound::{SoundIntake, sound_queue};

use crate::allocator;
use crate::counting_storage::CountingStorage;

const DRIVE_HOURS: u64 = 24;
const SECOND_NS: u64 = 1_000_000_000;
const START_NS: u64 = 9 * SECOND_NS;
/// Frames that come at once, and how often the main loop takes them: 20 and 100 ms.
const PERIOD: u64 = 320;
const PERIODS: u64 = 5;
/// What is allocated may not grow by more than this after the first hour.
const ALLOWED_GROWTH_BYTES: i64 = 256 * 1024;

/// What a receiver and a radio tell each second, and an over each minute.
fn second(engine: &mut RecordingEngine, second: u64) {
    let now_ns = START_NS + second * SECOND_NS;
    let (hour, minute) = (second / 3_600 % 24, second / 60 % 60);
    let time = JournalEvent::TimeFix {
        utc: clip(&format!(
            "2026-05-14T{hour:02}:{minute:02}:{:02}Z",
            second % 60
        )),
        source: TimeSource::Nmea,
        valid: true,
        within_ms: None,
    };
    let place = JournalEvent::PositionFix {
        lat: 41.400_123_4 + second as f64 * 1e-5,
        lon: -81.861_396_7 - second as f64 * 1.3e-5,
        alt_m: Some(280.2),
        speed_mps: Some(27.31),
        satellites: Some(9),
        hdop: Some(1.12),
        source: PositionSource::Nmea,
        valid: true,
    };
    engine.gps(vec![time, place], now_ns);
    let setting = RigReading {
        hz: 14_250_000 + second / 900 * 1_500,
        mode: clip("USB"),
    };
    engine.dial(setting, now_ns);
    match second % 60 {
        20 => engine.line(InputLine::Ptt, true, now_ns),
        35 => engine.line(InputLine::Ptt, false, now_ns),
        40 => engine.line(InputLine::Mark, true, now_ns),
        41 => engine.line(InputLine::Mark, false, now_ns),
        _ => {}
    }
}

#[test]
fn a_day_overflows_no_queue_keeps_its_memory_flat_and_its_journal_under_10_mib() {
    let config =
        RecorderConfig::parse("card.board = \"3fa2c1\"\ngps.gpsd = \"127.0.0.1:1\"").unwrap();
    let card = CountingStorage::default();
    let counts = Arc::clone(&card.counts);
    let boot = "9f2c41d0".try_into().unwrap();
    let mut engine =
        RecordingEngine::start(Box::new(card), Path::new(""), &config, boot, START_NS).unwrap();
    let (mut kit, consumer) = sound_queue();
    let mut inlet = kit.inlet(16_000).unwrap();
    let mut intake = SoundIntake::new(consumer, false);
    let began = Instant::now();
    let ticks = DRIVE_HOURS * 3_600 * 10;
    let (mut first_hour, mut most) = (0, 0);
    for tick in 0..ticks {
        if tick % 10 == 0 {
            second(&mut engine, tick / 10);
        }
        for period in 1..=PERIODS {
            let at = (tick * PERIODS + period) * PERIOD;
            let frames =
                (0..PERIOD as usize).map(|n| [(n * 37 % 4_001) as i16, (n * 53 % 2_003) as i16]);
            inlet.push(frames, START_NS + at * 62_500);
        }
        let now_ns = START_NS + (tick + 1) * SECOND_NS / 10;
        assert!(!intake.drain(&mut engine, now_ns).unwrap());
        engine.poll(now_ns);
        let _sounded = engine.take_requests();
        if tick == 36_000 {
            first_hour = allocator::allocated_bytes();
        }
        most = most.max(allocator::allocated_bytes());
    }
    let end_ns = START_NS + DRIVE_HOURS * 3_600 * SECOND_NS;
    assert_eq!(
        engine.arrived(),
        DRIVE_HOURS * 3_600 * 16_000,
        "samples were lost"
    );
    intake.finish(&mut engine, end_ns).unwrap();
    engine.finish(ShutdownReason::EndOfInput, end_ns).unwrap();
    let journal = counts.journal.load(Ordering::Relaxed);
    let audio = counts.audio.load(Ordering::Relaxed);
    println!(
        "figure: budgets: {DRIVE_HOURS} h of drive in {:.0} s: no sample lost in the queue, {:.2} GB of sound, journal {:.2} MiB (10 allowed), allocated {:+.1} KiB from the first hour to the most, {:.1} MiB at most",
        began.elapsed().as_secs_f64(),
        audio as f64 / 1e9,
        journal as f64 / 1_048_576.0,
        (most - first_hour) as f64 / 1_024.0,
        most as f64 / 1_048_576.0,
    );
    assert!(audio > DRIVE_HOURS * 3_600 * 32_000);
    assert!(journal < 10 << 20, "{journal} bytes of journal");
    assert!(
        most - first_hour < ALLOWED_GROWTH_BYTES,
        "{first_hour} grew to {most} bytes"
    );
}
