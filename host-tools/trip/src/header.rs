//! trip.json: what a trip says about itself, written once at its start.

use std::fmt;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

/// The trip folder format that this program reads.
pub const TRIP_FORMAT: u64 = 1;

/// The content of trip.json.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TripJsonHeader {
    /// Trip folder format, 1.
    pub format: u64,
    /// Counter kept on the card.
    pub trip: u64,
    /// The board's id, six hexadecimal digits.
    pub board: String,
    /// The power-up, eight hexadecimal digits; empty when not known.
    pub boot: String,
    /// Who was driving.
    pub station: TripStation,
    /// What the sound files hold.
    pub audio: TripAudioFormat,
    /// Name and version of the recorder.
    pub software: String,
}

/// Whose station it is, as the recorder's configuration had it.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TripStation {
    /// The station's call sign.
    pub call: Option<String>,
    /// The operator's call sign.
    pub operator: Option<String>,
}

/// The form of every sound file of a trip.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TripAudioFormat {
    /// Samples per second.
    pub sample_rate: u32,
    /// Bits per sample, 16.
    pub bits: u16,
    /// Channels, 1.
    pub channels: u16,
}

impl Default for TripAudioFormat {
    /// 16 kHz, 16 bits, mono: what every recorder of format 1 writes.
    fn default() -> Self {
        Self {
            sample_rate: 16_000,
            bits: 16,
            channels: 1,
        }
    }
}

/// Why bytes are not the trip.json of a trip that this program reads.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum HeaderFault {
    /// Written by newer software.
    #[error("format {0} is newer than format {TRIP_FORMAT}, which this program reads")]
    Newer(u64),
    /// Audio of a kind that format 1 does not have.
    #[error(
        "audio of {} Hz, {} bits and {} channels is not what a trip holds",
        .0.sample_rate, .0.bits, .0.channels
    )]
    Audio(TripAudioFormat),
    /// It cannot be read; why.
    #[error("{0}")]
    Damaged(String),
}

/// What the text of a trip.json is, before its format and its audio are judged: other
/// witnesses of the trip may know better.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum HeaderText {
    /// It has the shape of format 1, whatever number it names.
    Shaped(TripJsonHeader),
    /// It does not.
    Other {
        /// The format that it names, if it names one.
        format: Option<u64>,
        /// Why it has not that shape.
        reason: String,
    },
}

/// Reads the text of a trip.json.
pub(crate) fn read(text: &[u8]) -> HeaderText {
    #[derive(Deserialize)]
    struct HeaderVersion {
        format: u64,
    }
    match serde_json::from_slice(text) {
        Ok(header) => HeaderText::Shaped(header),
        Err(error) => {
            // A newer format is called newer and not damaged.
            let version = serde_json::from_slice::<HeaderVersion>(text).ok();
            let format = version.map(|version| version.format);
            HeaderText::Other {
                format,
                reason: match format {
                    Some(format) if format < TRIP_FORMAT => format!("there is no format {format}"),
                    _ => error.to_string(),
                },
            }
        }
    }
}

impl fmt::Display for TripAudioFormat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            sample_rate,
            bits,
            channels,
        } = self;
        write!(f, "{sample_rate} Hz, {bits} bits, {channels} channels")
    }
}

impl TripAudioFormat {
    /// Whether a trip of format 1 may hold it.
    pub(crate) fn is_possible(self) -> bool {
        (8_000..=48_000).contains(&self.sample_rate) && self.bits == 16 && self.channels == 1
    }
}

impl TripJsonHeader {
    /// Reads the text of a trip.json.
    ///
    /// # Errors
    /// [`HeaderFault`] says why it is none that this program reads.
    pub fn parse(text: &[u8]) -> Result<Self, HeaderFault> {
        let newer = |format: u64| format > TRIP_FORMAT;
        match read(text) {
            HeaderText::Shaped(header) if newer(header.format) => {
                Err(HeaderFault::Newer(header.format))
            }
            HeaderText::Other {
                format: Some(format),
                ..
            } if newer(format) => Err(HeaderFault::Newer(format)),
            HeaderText::Shaped(Self { format, .. }) if format < TRIP_FORMAT => {
                Err(HeaderFault::Damaged(format!("there is no format {format}")))
            }
            HeaderText::Shaped(header) if !header.audio.is_possible() => {
                Err(HeaderFault::Audio(header.audio))
            }
            HeaderText::Shaped(header) => Ok(header),
            HeaderText::Other { reason, .. } => Err(HeaderFault::Damaged(reason)),
        }
    }

    /// The trip's name, such as "trip-000017-3fa2c1".
    pub(crate) fn name(&self) -> String {
        name(self.trip, &self.board)
    }
}

/// The name of a trip of that number and board.
pub(crate) fn name(trip: u64, board: &str) -> String {
    format!("trip-{trip:06}-{board}")
}

/// A folder's own name, also where it was given as "." or "..".
pub(crate) fn folder_name(folder: &Path) -> String {
    let whole: PathBuf = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
    whole
        .file_name()
        .map(|name| name.to_string_lossy().into_owned())
        .unwrap_or_default()
}

/// Trip number and board of a name such as "trip-000017-3fa2c1".
pub(crate) fn numbers_of_name(name: &str) -> Option<(u64, String)> {
    let (number, board) = name.strip_prefix("trip-")?.split_once('-')?;
    Some((number.parse().ok()?, board.to_owned()))
}

#[cfg(test)]
mod tests {
    use super::*;

    const WHOLE: &str = r#"{"format":1,"trip":17,"board":"3fa2c1","boot":"9f2c41d0","station":{"call":"W7QTM","operator":null},"audio":{"sample_rate":16000,"bits":16,"channels":1},"software":"jumpseat-recorder 0.1.0"}"#;

    #[track_caller]
    fn check(from: &str, to: &str, expected: &str) {
        let text = WHOLE.replacen(from, to, 1);
        let words = match TripJsonHeader::parse(text.as_bytes()) {
            Ok(header) => header.name(),
            Err(fault) => fault.to_string(),
        };
        assert!(words.contains(expected), "{text}: {words}");
    }

    #[test]
    fn a_header_is_read_or_says_why_not() {
        check("", "", "trip-000017-3fa2c1");
        check("\"format\":1", "\"format\":2", "format 2 is newer");
        check("\"format\":1", "\"format\":0", "there is no format 0");
        check(
            "\"format\":1,",
            "\"format\":3,\"x\":1,",
            "format 3 is newer",
        );
        check("16000", "7999", "7999 Hz");
        check("\"channels\":1", "\"channels\":2", "2 channels");
        check("\"boot\"", "\"boat\"", "unknown field `boat`");
        check("0.1.0\"}", "0.1.0\"", "EOF while parsing");
    }
}
