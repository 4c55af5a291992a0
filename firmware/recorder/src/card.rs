//! Names that need no clock: the board's id and the power-up's id; and what a trip
//! says of itself.

use std::fs;
use std::path::{Path, PathBuf};

use jumpseat_core::journal::{BootId, JournalEvent, clip};
use serde::Serialize;

use crate::config::RecorderConfig;
use crate::error::RecorderError;
use crate::storage::CardStorage;

/// Name and version of this software, as it stands in every trip.
pub const SOFTWARE: &str = concat!("jumpseat-recorder ", env!("CARGO_PKG_VERSION"));

const MACHINE_ID: &str = "/etc/machine-id";
const KERNEL_BOOT_ID: &str = "/proc/sys/kernel/random/boot_id";

/// What `trip.json` says.
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
    /// Who was on the air.
    pub station: ConfiguredStation,
    /// How the audio is written.
    pub audio: RecordingFormat,
    /// Name and version of the recorder.
    pub software: String,
}

impl TripFileHeader {
    /// What the journal repeats of it, under a checksum.
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

/// Who was on the air, as the config file says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ConfiguredStation {
    /// Station call sign.
    pub call: Option<String>,
    /// Operator's call sign.
    pub operator: Option<String>,
}

/// How the audio is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct RecordingFormat {
    /// Samples a second.
    pub sample_rate: u32,
    /// Bits a sample, signed.
    pub bits: u16,
    /// Channels a file.
    pub channels: u16,
}

/// What the audio of format version 1 always is.
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
    let machine = fs::read_to_string(MACHINE_ID).unwrap_or_default();
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
            path: PathBuf::from(MACHINE_ID),
            problem: "holds no machine id; set board = \"3fa2c1\" (six digits of your own \
                      choice) under [card] in the config file"
                .to_owned(),
        })
    }
}

/// The power-up's id: the first eight digits of the kernel's boot id.
///
/// # Errors
/// [`RecorderError::Io`] when the kernel does not tell.
pub fn boot_id() -> Result<BootId, RecorderError> {
    let path = Path::new(KERNEL_BOOT_ID);
    let text = fs::read_to_string(path)
        .map_err(|source| RecorderError::io("read the boot id from", path, source))?;
    let mut id = BootId::new();
    for digit in text.chars().filter(char::is_ascii_hexdigit).take(8) {
        // Eight digits fit, and eight are taken.
        let _fits = id.push(digit);
    }
    Ok(id)
}

/// Writes a whole small file at one stroke: after a power cut it holds the old
/// text or the new, provided that the card keeps the order it was told. `part` is
/// the name that the new text has until it is safe; what stands under it goes.
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
        .map_err(|source| RecorderError::io("put in place", path, source))?;
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
