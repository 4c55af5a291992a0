//! Reads a drive script: two channels of audio, and timed events.

use std::fs::File;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};

use jumpseat_core::{AudioFrame, SAMPLE_RATE};
use serde::{Deserialize, Deserializer};

use crate::error::RecorderError;

/// The monotonic clock's reading at t = 0 of every simulated drive.
pub const START_NS: u64 = 60_000_000_000;

/// One line of `events.jsonl`.
#[derive(Debug, Clone, PartialEq)]
pub struct SimulationEvent {
    /// Seconds since the first sample.
    pub at_s: f64,
    /// What happened.
    pub input: SimulationInput,
}

/// What can happen in a drive.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SimulationInput {
    /// The key went down (`true`) or up.
    Ptt(bool),
    /// The mark button was pressed (`true`) or released.
    Mark(bool),
    /// The receiver sent a sentence, checksum included.
    Nmea(String),
    /// The dial was turned.
    Dial {
        /// Frequency in hertz.
        hz: u64,
        /// Mode as rig control names it.
        mode: String,
    },
}

impl SimulationEvent {
    /// The monotonic time of this event in a simulated drive, in nanoseconds.
    pub fn mono_ns(&self) -> u64 {
        START_NS.saturating_add((self.at_s.max(0.0) * 1e9).round() as u64)
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SimulationEventLine {
    at_s: f64,
    ptt: Option<bool>,
    mark: Option<bool>,
    nmea: Option<String>,
    dial: Option<SimulationDialLine>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SimulationDialLine {
    hz: u64,
    mode: String,
}

impl<'de> Deserialize<'de> for SimulationEvent {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let line = SimulationEventLine::deserialize(deserializer)?;
        let dial = line
            .dial
            .map(|SimulationDialLine { hz, mode }| SimulationInput::Dial { hz, mode });
        let given = [
            line.ptt.map(SimulationInput::Ptt),
            line.mark.map(SimulationInput::Mark),
            line.nmea.map(SimulationInput::Nmea),
            dial,
        ];
        let mut given = given.into_iter().flatten();
        match (given.next(), given.next()) {
            (Some(what), None) => Ok(Self {
                at_s: line.at_s,
                input: what,
            }),
            _ => Err(serde::de::Error::custom(
                "an event has at_s and exactly one of ptt, mark, nmea, dial",
            )),
        }
    }
}

/// A script, from a folder or from memory.
#[derive(Debug, Clone)]
pub struct SimulationScript {
    events: Vec<SimulationEvent>,
    sound: SimulationSound,
}

#[derive(Debug, Clone)]
enum SimulationSound {
    File(PathBuf),
    Memory(Vec<AudioFrame>),
}

/// The frames of a script in order.
pub(super) type SimulationFrames = Box<dyn Iterator<Item = Result<AudioFrame, RecorderError>>>;

impl SimulationScript {
    /// A script in memory: frames at 16 kHz from t = 0, and events, which are sorted by
    /// time.
    pub fn new(frames: Vec<AudioFrame>, events: Vec<SimulationEvent>) -> Self {
        Self {
            events: sorted(events),
            sound: SimulationSound::Memory(frames),
        }
    }

    /// Reads `events.jsonl` of a script folder; `drive.wav` is read as it is played.
    ///
    /// # Errors
    /// [`RecorderError::Io`] when it cannot be read, [`RecorderError::Script`]
    /// with the line when it is wrong.
    pub fn open(dir: &Path) -> Result<Self, RecorderError> {
        let path = dir.join("events.jsonl");
        let file = File::open(&path).map_err(|source| RecorderError::io("read", &path, source))?;
        let mut events = Vec::new();
        for (number, line) in (1..).zip(BufReader::new(file).lines()) {
            let line = line.map_err(|source| RecorderError::io("read", &path, source))?;
            if line.trim().is_empty() {
                continue;
            }
            let event = serde_json::from_str(&line).map_err(|error| RecorderError::Script {
                path: path.clone(),
                problem: format!("line {number}: {error}"),
            })?;
            events.push(event);
        }
        Ok(Self {
            events: sorted(events),
            sound: SimulationSound::File(dir.join("drive.wav")),
        })
    }

    /// The events in order of time.
    pub fn events(&self) -> &[SimulationEvent] {
        &self.events
    }

    pub(super) fn into_parts(
        self,
    ) -> Result<(Vec<SimulationEvent>, SimulationFrames), RecorderError> {
        let frames: SimulationFrames = match self.sound {
            SimulationSound::Memory(frames) => Box::new(frames.into_iter().map(Ok)),
            SimulationSound::File(path) => wav_frames(path)?,
        };
        Ok((self.events, frames))
    }
}

fn sorted(mut events: Vec<SimulationEvent>) -> Vec<SimulationEvent> {
    events.sort_by(|one, two| one.at_s.total_cmp(&two.at_s));
    events
}

fn wav_frames(path: PathBuf) -> Result<SimulationFrames, RecorderError> {
    let wrong = |path: &Path, problem: String| RecorderError::Script {
        path: path.to_owned(),
        problem,
    };
    let reader = hound::WavReader::open(&path).map_err(|error| wrong(&path, error.to_string()))?;
    let spec = reader.spec();
    if (spec.channels, spec.sample_rate, spec.bits_per_sample) != (2, SAMPLE_RATE, 16) {
        let problem = format!(
            "{} channels, {} Hz, {} bits; a script's sound is 2 channels, 16000 Hz, 16 bits",
            spec.channels, spec.sample_rate, spec.bits_per_sample
        );
        return Err(wrong(&path, problem));
    }
    let mut samples = reader.into_samples::<i16>();
    Ok(Box::new(std::iter::from_fn(move || {
        let (rx, tx) = (samples.next()?, samples.next()?);
        let frame = rx.and_then(|rx| Ok(AudioFrame { rx, tx: tx? }));
        Some(frame.map_err(|error| wrong(&path, error.to_string())))
    })))
}
