//! trip.json: what a trip says about itself, written once at its start.

use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::{TripError, name_on_board};

/// The trip folder format that this program reads.
pub const FORMAT: u64 = 1;

/// The content of trip.json.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Header {
    /// Trip folder format, 1.
    pub format: u64,
    /// Counter kept on the card.
    pub trip: u64,
    /// The board's id, six hexadecimal digits.
    pub board: String,
    /// The power-up, eight hexadecimal digits; empty when not known.
    pub boot: String,
    /// Who was driving.
    pub station: Station,
    /// What the sound files hold.
    pub audio: AudioFormat,
    /// Name and version of the recorder.
    pub software: String,
}

/// Whose station it is, as the recorder's configuration had it.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Station {
    /// The station's call sign.
    pub call: Option<String>,
    /// The operator's call sign.
    pub operator: Option<String>,
}

/// The form of every sound file of a trip.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AudioFormat {
    /// Samples per second.
    pub sample_rate: u32,
    /// Bits per sample, 16.
    pub bits: u16,
    /// Channels, 1.
    pub channels: u16,
}

impl Default for AudioFormat {
    /// 16 kHz, 16 bits, mono: what every recorder of format 1 writes.
    fn default() -> Self {
        Self {
            sample_rate: 16_000,
            bits: 16,
            channels: 1,
        }
    }
}

/// What could be made of trip.json.
pub(crate) enum HeaderText {
    /// A whole header.
    Whole(Header),
    /// Not to be read as one; why.
    Damaged(String),
}

/// Reads trip.json's text. A newer format, or audio that format 1 does not have,
/// is an error; any other trouble is damage.
pub(crate) fn parse(path: &Path, text: &[u8]) -> Result<HeaderText, TripError> {
    // The version is looked at before anything else, so that a newer format is
    // called newer and not damaged.
    #[derive(Deserialize)]
    struct Version {
        format: u64,
    }
    match serde_json::from_slice::<Version>(text) {
        Ok(Version { format }) if format > FORMAT => {
            return Err(TripError::NewerFormat {
                path: path.to_owned(),
                found: format,
                known: FORMAT,
            });
        }
        Ok(Version { format }) if format < FORMAT => {
            return Ok(HeaderText::Damaged(format!("there is no format {format}")));
        }
        Ok(_) => {}
        Err(error) => return Ok(HeaderText::Damaged(error.to_string())),
    }
    let header: Header = match serde_json::from_slice(text) {
        Ok(header) => header,
        Err(error) => return Ok(HeaderText::Damaged(error.to_string())),
    };
    let AudioFormat {
        sample_rate,
        bits,
        channels,
    } = header.audio;
    if !(8_000..=48_000).contains(&sample_rate) || bits != 16 || channels != 1 {
        return Err(TripError::AudioFormat {
            path: path.to_owned(),
            sample_rate,
            bits,
            channels,
        });
    }
    Ok(HeaderText::Whole(header))
}

impl Header {
    /// What the folder's name and the journal tell when trip.json does not.
    pub(crate) fn salvaged(folder: &Path, boot: &str, software: &str) -> Self {
        let (trip, board) =
            numbers_of_name(name_on_board(&folder_name(folder))).unwrap_or_default();
        Self {
            format: FORMAT,
            trip,
            board,
            boot: boot.to_owned(),
            station: Station::default(),
            audio: AudioFormat::default(),
            software: software.to_owned(),
        }
    }

    /// The trip's name, such as "trip-000017-3fa2c1".
    pub(crate) fn name(&self) -> String {
        format!("trip-{:06}-{}", self.trip, self.board)
    }
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
fn numbers_of_name(name: &str) -> Option<(u64, String)> {
    let (number, board) = name.strip_prefix("trip-")?.split_once('-')?;
    Some((number.parse().ok()?, board.to_owned()))
}
