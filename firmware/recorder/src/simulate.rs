//! Feeds the recorder's engine from files, as fast as possible.

mod script;

use std::path::{Path, PathBuf};

use jumpseat_core::journal::{BootId, ShutdownReason, clip};
use jumpseat_core::{AudioFrame, SAMPLE_NS, SAMPLE_RATE};

pub use script::{START_NS, SimulationEvent, SimulationInput, SimulationScript};

use crate::config::RecorderConfig;
use crate::engine::RecordingEngine;
use crate::error::RecorderError;
use crate::gps::SentenceReader;
use crate::input_line::InputLine;
use crate::rig_reading::RigReading;
use crate::storage::{DiskStorage, SyncDurability};

/// Samples per block, as from a sound card: 20 ms.
const BLOCK_SAMPLES: usize = 320;

/// The result of a simulated drive.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SimulatedTrip {
    /// The trip folder.
    pub trip: PathBuf,
    /// Samples fed, per channel.
    pub samples: u64,
    /// Marks written.
    pub marks: u32,
    /// What a person should check on the card.
    pub doubts: Vec<String>,
}

/// Plays a script into a new trip folder on `card` (a folder, created if it does not
/// exist). The same script and config on an empty card give the same bytes. Sample `n` is
/// taken at [`START_NS`] + n/16000 s, exactly.
///
/// # Errors
/// [`RecorderError::Script`] when the script is wrong, [`RecorderError::Io`]
/// when the card cannot be written.
pub fn run(
    script: SimulationScript,
    config: &RecorderConfig,
    card: &Path,
) -> Result<SimulatedTrip, RecorderError> {
    std::fs::create_dir_all(card)
        .map_err(|source| RecorderError::io("create the folder", card, source))?;
    let boot = boot_of(&script);
    let storage = Box::new(DiskStorage::new(SyncDurability::Relaxed));
    let engine = RecordingEngine::start(storage, card, config, boot, START_NS)?;
    let mut drive = SimulationRun {
        engine,
        sentences: SentenceReader::new(),
        samples: 0,
    };
    let (events, mut frames) = script.into_parts()?;
    let mut events = events.into_iter().peekable();
    let mut block = Vec::with_capacity(BLOCK_SAMPLES);
    loop {
        block.clear();
        for frame in frames.by_ref().take(BLOCK_SAMPLES) {
            block.push(frame?);
        }
        if block.is_empty() {
            break;
        }
        // The events of a block are known before the block is complete.
        let end_ns = drive.now_ns() + block.len() as u64 * SAMPLE_NS;
        while let Some(event) = events.next_if(|event| event.mono_ns() < end_ns) {
            drive.happening(event)?;
        }
        drive.block(&block);
    }
    // Events after the last sample count too.
    for event in events {
        drive.happening(event)?;
    }
    drive.finish()
}

struct SimulationRun {
    engine: RecordingEngine,
    sentences: SentenceReader,
    samples: u64,
}

impl SimulationRun {
    const fn now_ns(&self) -> u64 {
        START_NS + self.samples * SAMPLE_NS
    }

    fn block(&mut self, frames: &[AudioFrame]) {
        self.samples += frames.len() as u64;
        let now_ns = self.now_ns();
        self.engine.clock(now_ns, self.samples);
        self.engine.audio(frames, now_ns);
        self.engine.poll(now_ns);
    }

    fn happening(&mut self, event: SimulationEvent) -> Result<(), RecorderError> {
        let at_ns = event.mono_ns();
        match event.input {
            SimulationInput::Ptt(down) => self.engine.line(InputLine::Ptt, down, at_ns),
            SimulationInput::Mark(pressed) => self.engine.line(InputLine::Mark, pressed, at_ns),
            SimulationInput::Nmea(sentence) => {
                let events = self.sentences.read(&sentence).unwrap_or_default();
                self.engine.gps(events, at_ns);
            }
            SimulationInput::Dial { hz, mode } => {
                let mode = clip(&mode);
                self.engine.dial(RigReading { hz, mode }, at_ns);
            }
        }
        Ok(())
    }

    fn finish(mut self) -> Result<SimulatedTrip, RecorderError> {
        let (now_ns, samples) = (self.now_ns(), self.samples);
        let marks = self.engine.marks();
        let doubts = self.engine.take_doubts();
        let trip = self.engine.finish(ShutdownReason::EndOfInput, now_ns)?;
        Ok(SimulatedTrip {
            trip,
            samples,
            marks,
            doubts,
        })
    }
}

/// A power-up id made from the script, so that the same script gives the same trip.
fn boot_of(script: &SimulationScript) -> BootId {
    let crc = crc::Crc::<u32>::new(&crc::CRC_32_ISCSI);
    let mut digest = crc.digest();
    for event in script.events() {
        digest.update(format!("{event:?}").as_bytes());
    }
    clip(&format!("{:08x}", digest.finalize()))
}

/// Seconds as a number of samples, for scripts.
pub fn samples_in(seconds: f64) -> u64 {
    (seconds * f64::from(SAMPLE_RATE)).round().max(0.0) as u64
}
