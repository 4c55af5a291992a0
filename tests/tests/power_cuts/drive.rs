//! The scripted drive: 24 seconds with overs, marks, fixes and dial readings, in which
//! every sample's value identifies it.

use std::path::Path;

use jumpseat_core::AudioFrame;
use jumpseat_core::journal::{JournalEvent, ShutdownReason, TimeSource, clip};
use jumpseat_core::signal::OperatorSignal;
use jumpseat_memory_card::MemoryCard;
use jumpseat_recorder::RecorderError;
use jumpseat_recorder::config::RecorderConfig;
use jumpseat_recorder::engine::RecordingEngine;
use jumpseat_recorder::input_line::InputLine;
use jumpseat_recorder::rig_reading::RigReading;

pub(crate) const SECOND_NS: u64 = 1_000_000_000;
/// Monotonic time of sample 0.
pub(crate) const START_NS: u64 = 7 * SECOND_NS;
/// Length of the drive in blocks of 20 ms.
pub(crate) const BLOCKS: u64 = 24 * 50;
const BLOCK: u64 = 320;

/// Key edges, by block.
const KEY: [(u64, bool); 6] = [
    (205, true),
    (370, false),
    (510, true),
    (611, false),
    (900, true),
    (1_102, false),
];
const MARKS: [u64; 4] = [120, 420, 640, 1_150];

/// A record that must be on the card from then on, should the power fail.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct CardPromise {
    /// Operations on the card when the promise was made.
    pub(crate) operations: u64,
    /// The record that must be there.
    pub(crate) event: JournalEvent,
    /// Its time.
    pub(crate) mono_ns: u64,
}

/// What was promised, and how far the drive had come.
#[derive(Debug, Default)]
pub(crate) struct DriveLog {
    pub(crate) promises: Vec<CardPromise>,
    /// Samples passed in (second) after this many operations (first).
    pub(crate) fed: Vec<(u64, u64)>,
    /// Every signal that was given or lasted.
    pub(crate) signals: Vec<OperatorSignal>,
}

impl DriveLog {
    /// Samples that had been passed in when operation `at` began.
    pub(crate) fn fed_at(&self, at: u64) -> u64 {
        let after = self.fed.partition_point(|&(operations, _)| operations < at);
        self.fed
            .get(after)
            .or(self.fed.last())
            .map_or(0, |&(_, fed)| fed)
    }

    /// Promises made before operation `at` began.
    pub(crate) fn promised_at(&self, at: u64) -> impl Iterator<Item = &CardPromise> {
        self.promises
            .iter()
            .filter(move |promise| promise.operations < at)
    }
}

/// The frame at a sample count: a value that identifies it, with the sign telling the
/// channel.
pub(crate) fn frame(sample: u64) -> AudioFrame {
    let value = (sample % 30_011) as i16 + 1;
    AudioFrame {
        rx: value,
        tx: -value,
    }
}

pub(crate) fn config() -> RecorderConfig {
    RecorderConfig::parse(
        "card = { board = \"3fa2c1\", nearly_full_mib = 0, transmit_only_mib = 0 }",
    )
    .unwrap()
}

/// Starts a trip as the board does when it gets power.
pub(crate) fn start(
    card: &MemoryCard,
    config: &RecorderConfig,
) -> Result<RecordingEngine, RecorderError> {
    let boot = "9f2c41d0".try_into().unwrap();
    RecordingEngine::start(
        Box::new(card.clone()),
        Path::new(""),
        config,
        boot,
        START_NS,
    )
}

/// Plays this many blocks; the trip is left open.
pub(crate) fn drive(engine: &mut RecordingEngine, card: &MemoryCard, blocks: u64) -> DriveLog {
    let mut log = DriveLog::default();
    for block in 0..blocks {
        one_block(engine, card, block, &mut log);
    }
    log
}

/// 20 ms of the drive.
pub(crate) fn one_block(
    engine: &mut RecordingEngine,
    card: &MemoryCard,
    block: u64,
    log: &mut DriveLog,
) {
    let began_ns = START_NS + block * 20_000_000;
    let now_ns = began_ns + 20_000_000;
    log.fed.push((card.operations(), block * BLOCK));
    for &(at, down) in KEY.iter().filter(|&&(at, _)| at == block) {
        engine.line(InputLine::Ptt, down, began_ns);
        // Once it has settled, the call that records it has returned.
        engine.poll(began_ns + 12_000_000);
        log.promises.push(CardPromise {
            operations: card.operations(),
            event: JournalEvent::Ptt { down },
            mono_ns: START_NS + at * 20_000_000,
        });
    }
    for &at in MARKS.iter().filter(|&&at| at == block || at + 10 == block) {
        engine.line(InputLine::Mark, at == block, began_ns);
        engine.poll(began_ns + 12_000_000);
        // Promised from the moment of its acknowledgement.
        for signal in engine.take_requests() {
            log.signals.push(signal);
            if signal == OperatorSignal::MarkAcknowledged {
                log.promises.push(CardPromise {
                    operations: card.operations(),
                    event: JournalEvent::Mark {},
                    mono_ns: began_ns,
                });
            }
        }
    }
    if block.is_multiple_of(50) {
        let second = block / 50;
        let fix = JournalEvent::TimeFix {
            utc: clip(&format!("2026-05-14T15:02:{second:02}Z")),
            source: TimeSource::Gpsd,
            valid: true,
            within_ms: None,
        };
        engine.gps(vec![fix], began_ns);
        let setting = RigReading {
            hz: 14_250_000 + second / 7 * 1_000,
            mode: clip("USB"),
        };
        engine.dial(setting, began_ns);
    }
    let first = block * BLOCK;
    let frames: Vec<AudioFrame> = (first..first + BLOCK).map(frame).collect();
    engine.clock(now_ns, first + BLOCK);
    engine.audio(&frames, now_ns);
    log.fed.push((card.operations(), first + BLOCK));
    engine.poll(now_ns);
    log.fed.push((card.operations(), first + BLOCK));
    log.signals.extend(engine.states());
}

/// Ends the trip properly. The error is the first one of the trip.
pub(crate) fn finish(engine: RecordingEngine, blocks: u64) -> Result<(), RecorderError> {
    let now_ns = START_NS + blocks * 20_000_000;
    engine.finish(ShutdownReason::Signal, now_ns).map(drop)
}
