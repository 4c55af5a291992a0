//! The content of `trip.json`, and the part of it that the journal repeats.

use jumpseat_core::journal::{JournalEvent, clip};
use serde::Serialize;

/// Name and version of this software, as written into every trip.
pub const SOFTWARE: &str = concat!("jumpseat-recorder ", env!("CARGO_PKG_VERSION"));

/// The content of `trip.json`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TripFileHeader {
    /// Version of the trip folder: 1.
    pub format: u32,
    /// The trip's number.
    pub trip: u32,
    /// The board's id, six hexadecimal digits.
    pub board: String,
    /// The power-up's id, eight hexadecimal digits.
    pub boot: String,
    /// Whose recording it is.
    pub station: ConfiguredStation,
    /// The format of the audio files.
    pub audio: RecordingFormat,
    /// Name and version of the recorder.
    pub software: String,
}

impl TripFileHeader {
    /// The fields that the journal repeats, under its checksum.
    pub fn event(&self) -> JournalEvent {
        JournalEvent::Trip {
            format: self.format,
            trip: self.trip,
            board: clip(&self.board),
            call: self.station.call.as_deref().map(clip),
            operator: self.station.operator.as_deref().map(clip),
            sample_rate: self.audio.sample_rate,
            bits: self.audio.bits,
            channels: self.audio.channels,
        }
    }
}

/// Whose recording it is, as the config file states it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ConfiguredStation {
    /// Station call sign.
    pub call: Option<String>,
    /// Operator's call sign.
    pub operator: Option<String>,
}

/// The format of the audio files.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct RecordingFormat {
    /// Samples per second.
    pub sample_rate: u32,
    /// Bits per sample, signed.
    pub bits: u16,
    /// Channels per file.
    pub channels: u16,
}

/// The audio format of every trip of version 1.
pub const AUDIO_FORMAT: RecordingFormat = RecordingFormat {
    sample_rate: jumpseat_core::SAMPLE_RATE,
    bits: 16,
    channels: 1,
};
