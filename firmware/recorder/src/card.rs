//! Names that need no clock: the board's id, the power-up's id and the trip's
//! number.

use std::fs;
use std::path::{Path, PathBuf};

use jumpseat_core::journal::{BootId, Event, clip};
use serde::Serialize;

use crate::config::Config;
use crate::error::RecorderError;
use crate::storage::{Storage, read_text};

/// Name and version of this software, as it stands in every trip.
pub const SOFTWARE: &str = concat!("jumpseat-recorder ", env!("CARGO_PKG_VERSION"));

const COUNTER: &str = "trip-counter";
const MACHINE_ID: &str = "/etc/machine-id";
const KERNEL_BOOT_ID: &str = "/proc/sys/kernel/random/boot_id";

/// What `trip.json` says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TripHeader {
    /// Version of the trip folder: 1.
    pub format: u32,
    /// The trip's number on this card.
    pub trip: u32,
    /// The board's id, six hexadecimal digits.
    pub board: String,
    /// The power-up's id, eight hexadecimal digits.
    pub boot: String,
    /// Who was on the air.
    pub station: Station,
    /// How the audio is written.
    pub audio: AudioFormat,
    /// Name and version of the recorder.
    pub software: String,
}

impl TripHeader {
    /// What the journal repeats of it, under a checksum.
    pub fn event(&self) -> Event {
        Event::Trip {
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
pub struct Station {
    /// Station call sign.
    pub call: Option<String>,
    /// Operator's call sign.
    pub operator: Option<String>,
}

/// How the audio is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct AudioFormat {
    /// Samples a second.
    pub sample_rate: u32,
    /// Bits a sample, signed.
    pub bits: u16,
    /// Channels a file.
    pub channels: u16,
}

/// What the audio of format version 1 always is.
pub const AUDIO_FORMAT: AudioFormat = AudioFormat {
    sample_rate: jumpseat_core::SAMPLE_RATE,
    bits: 16,
    channels: 1,
};

/// The board's id: the config's, or else the first six digits of the machine's id.
///
/// # Errors
/// [`RecorderError::Config`] when there is neither.
pub fn board_id(config: &Config) -> Result<String, RecorderError> {
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

/// Chooses the number of the next trip and writes it down: one more than the
/// highest of the counter and the folders that exist, so that a number is not
/// used again after its folder went home.
///
/// # Errors
/// [`RecorderError::Io`] when the card cannot be read or written.
pub fn next_trip(storage: &mut dyn Storage, card: &Path) -> Result<u32, RecorderError> {
    let names = storage
        .names(card)
        .map_err(|source| RecorderError::io("look into the card folder", card, source))?;
    let folders = names.iter().filter_map(|name| trip_number(name)).max();
    let counter = card.join(COUNTER);
    let counted = if names.iter().any(|name| name == COUNTER) {
        // A counter that cannot be understood is made anew from the folders.
        read_text(storage, &counter)
            .ok()
            .and_then(|text| text.trim().parse::<u32>().ok())
    } else {
        None
    };
    let next = folders.max(counted).unwrap_or(0).saturating_add(1);
    replace(storage, &counter, format!("{next}\n").as_bytes())?;
    Ok(next)
}

/// Name of a trip's folder.
pub fn trip_name(trip: u32, board: &str) -> String {
    format!("trip-{trip:06}-{board}")
}

/// The number in a trip folder's name, if it is one.
pub(crate) fn trip_number(name: &str) -> Option<u32> {
    let (number, _board) = name.strip_prefix("trip-")?.split_once('-')?;
    number.parse().ok()
}

/// Writes a whole small file at one stroke: after a power cut it holds the old
/// text or the new, provided that the card keeps the order it was told.
///
/// # Errors
/// [`RecorderError::Io`].
pub fn replace(storage: &mut dyn Storage, path: &Path, bytes: &[u8]) -> Result<(), RecorderError> {
    let part = path.with_extension("part");
    let dir = path.parent().unwrap_or(Path::new("."));
    let leftover = part.file_name().map(|name| name.to_string_lossy());
    let names = storage
        .names(dir)
        .map_err(|source| RecorderError::io("look into", dir, source))?;
    if leftover.is_some_and(|leftover| names.iter().any(|name| *name == *leftover)) {
        storage
            .remove(&part)
            .map_err(|source| RecorderError::io("remove the leftover", &part, source))?;
    }
    let mut file = storage
        .create(&part)
        .map_err(|source| RecorderError::io("create", &part, source))?;
    file.write_all(bytes)
        .and_then(|()| file.flush())
        .and_then(|()| file.sync())
        .map_err(|source| RecorderError::io("write", &part, source))?;
    drop(file);
    storage
        .rename(&part, path)
        .map_err(|source| RecorderError::io("put in place", path, source))?;
    storage
        .sync_dir(dir)
        .map_err(|source| RecorderError::io("sync the folder", dir, source))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::storage::{Disk, Durability};

    #[track_caller]
    fn check(folders: &[&str], counter: Option<&str>, expected: u32) {
        let card = tempfile::tempdir().unwrap();
        for folder in folders {
            fs::create_dir(card.path().join(folder)).unwrap();
        }
        if let Some(text) = counter {
            fs::write(card.path().join(COUNTER), text).unwrap();
        }
        let mut disk = Disk::new(Durability::Synced);
        assert_eq!(next_trip(&mut disk, card.path()).unwrap(), expected);
        assert_eq!(next_trip(&mut disk, card.path()).unwrap(), expected + 1);
    }

    #[test]
    fn the_next_number_is_above_the_counter_and_the_folders() {
        check(&[], None, 1);
        check(&["trip-000016-3fa2c1", "trip-000007-3fa2c1"], None, 17);
        check(&["trip-000016-3fa2c1"], Some("40\n"), 41);
        check(&["trip-000016-3fa2c1"], Some("garbage"), 17);
        check(&["trip-x-3fa2c1", "music", "trip-000002"], Some("3"), 4);
    }

    #[test]
    fn a_leftover_of_a_power_cut_does_no_harm() {
        let card = tempfile::tempdir().unwrap();
        fs::write(card.path().join("trip-counter.part"), "9").unwrap();
        let mut disk = Disk::new(Durability::Synced);
        assert_eq!(next_trip(&mut disk, card.path()).unwrap(), 1);
    }

    #[test]
    fn the_kernel_tells_its_boot_id() {
        assert_eq!(boot_id().unwrap().len(), 8);
    }
}
