//! The ids of the board and of its power-up, which need no clock.

use std::fs;
use std::path::{Path, PathBuf};

use jumpseat_core::journal::{BootId, JournalEvent, clip};
use serde::Serialize;

use crate::config::RecorderConfig;
use crate::error::RecorderError;
use crate::storage::CardStorage;

/// Name and version of this software, as written into every trip.
pub const SOFTWARE: &str = concat!("jumpseat-recorder ", env!("CARGO_PKG_VERSION"));

const MACHINE_ID_FILE: &str = "/etc/machine-id";
const BOOT_ID_FILE: &str = "/proc/sys/kernel/random/boot_id";

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

/// The board's id: the config's, or else the first six digits of the machine's id.
///
/// # Errors
/// [`RecorderError::Config`] when there is neither.
pub fn board_id(config: &RecorderConfig) -> Result<String, RecorderError> {
    if let Some(board) = &config.card.board {
        return Ok(board.clone());
    }
    let machine = fs::read_to_string(MACHINE_ID_FILE).unwrap_or_default();
    let digits: String = machine
        .chars()
        .filter(char::is_ascii_hexdigit)
        .map(|digit| digit.to_ascii_lowercase())
        .take(6)
        .collect();
    if digits.len() == 6 {
        Ok(digits)
    } else {
        Err(RecorderError::Config {
            path: PathBuf::from(MACHINE_ID_FILE),
            problem: "holds no machine id; set board = \"3fa2c1\" (six digits of your own \
                      choice) under [card] in the config file"
                .to_owned(),
        })
    }
}

/// The power-up's id: the first eight digits of the kernel's boot id.
///
/// # Errors [`RecorderError::Io`] when the kernel's id cannot be read.
pub fn boot_id() -> Result<BootId, RecorderError> {
    let path = Path::new(BOOT_ID_FILE);
    let text = fs::read_to_string(path)
        .map_err(|source| RecorderError::io("read the boot id from", path, source))?;
    let mut id = BootId::new();
    for digit in text.chars().filter(char::is_ascii_hexdigit).take(8) {
        // It fits: eight digits at most are taken.
        let _fits = id.push(digit);
    }
    Ok(id)
}

/// Replaces a small file in one step: after a power cut it holds the old text or the new,
/// provided that the card keeps the order of its syncs. The new text has the name `part`
/// until it is synced; a file of that name is removed first.
///
/// # Errors
/// [`RecorderError::Io`].
pub fn replace(
    storage: &mut dyn CardStorage,
    path: &Path,
    part: &Path,
    bytes: &[u8],
) -> Result<(), RecorderError> {
    let dir = path.parent().unwrap_or(Path::new("."));
    if storage.kind(part).is_ok() {
        storage
            .remove(part)
            .map_err(|source| RecorderError::io("remove the leftover", part, source))?;
    }
    let mut file = storage
        .create(part)
        .map_err(|source| RecorderError::io("create", part, source))?;
    file.write_all(bytes)
        .and_then(|()| file.flush())
        .and_then(|()| file.sync())
        .map_err(|source| RecorderError::io("write", part, source))?;
    drop(file);
    storage
        .rename(part, path)
        .map_err(|source| RecorderError::io("replace", path, source))?;
    storage
        .sync_dir(dir)
        .map_err(|source| RecorderError::io("sync the folder", dir, source))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_kernel_tells_its_boot_id() {
        assert_eq!(boot_id().unwrap().len(), 8);
    }
}
