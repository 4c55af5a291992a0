//! Frees space on a card that is nearly full: removes the oldest trips whose copy the home
//! computer confirmed, and never anything else.
//!
//! The home computer leaves a receipt, `receipts/TRIP.json`, with the hash of every file
//! that it copied. The board accepts it only after hashing its own files: each of them must
//! be in the receipt with its length and its hash.
//!
//! Whoever holds the key of the pull account can write anything there. So a receipt is read
//! up to a limit and only for a trip that is on the card, only ordinary files are read, no
//! link is followed, and files that belong to no trip are removed.

mod receipt;
mod stray_receipts;

use std::io;
use std::path::{Path, PathBuf};

pub use stray_receipts::remove_stray_receipts;

use crate::error::RecorderError;
use crate::storage::{CardStorage, StoredKind};
use crate::trip_number::trip_number;
use receipt::is_confirmed;

/// The folder of the receipts.
pub const RECEIPTS_FOLDER: &str = "receipts";
/// Prefix of a trip folder while it is being removed, so that no part of it is ever taken
/// for a trip.
pub(crate) const REMOVAL_PREFIX: &str = ".going-";
/// Longest receipt: 30,000 files at 130 bytes each, several days of short overs. The pull
/// account cannot write a longer file (`limits.conf` of the package).
pub const MAX_RECEIPT_BYTES: u64 = 4 << 20;
/// Most names read from the card's folder.
const MAX_CARD_NAMES: usize = 100_000;

/// Removes confirmed trips, oldest first, until `floor` bytes are free or none is left, and
/// returns the names of those removed. The trip `current` is being written and stays.
///
/// # Errors [`RecorderError::Io`] when the card cannot be read, or when nothing could be
/// removed; each trip is then complete, or marked as being removed.
pub fn free_space(
    storage: &mut dyn CardStorage,
    card: &Path,
    floor: u64,
    current: &str,
) -> Result<Vec<String>, RecorderError> {
    let mut gone = Vec::new();
    // A trip that cannot be removed does not keep others from being removed.
    let mut trouble = None;
    let mut names = list(storage, card)?;
    for going in names.iter().filter(|name| name.starts_with(REMOVAL_PREFIX)) {
        let removed = remove_all(storage, &card.join(going)).and_then(|()| sync(storage, card));
        trouble = trouble.or(removed.err());
    }
    names.retain(|name| trip_number(name).is_some() && name != current);
    names.sort_by_key(|name| trip_number(name));
    for name in names {
        let free = storage
            .free_bytes(card)
            .map_err(|source| RecorderError::io("read the free space of", card, source))?;
        if free >= floor {
            break;
        }
        if is_confirmed(storage, card, &name) {
            match remove_trip(storage, card, &name) {
                Ok(()) => gone.push(name),
                Err(error) => trouble = trouble.or(Some(error)),
            }
        }
    }
    match trouble {
        Some(error) if gone.is_empty() => Err(error),
        _ => Ok(gone),
    }
}

/// The rename marks the whole trip as being removed in one step; then its files are
/// removed.
fn remove_trip(
    storage: &mut dyn CardStorage,
    card: &Path,
    name: &str,
) -> Result<(), RecorderError> {
    let (dir, going) = (
        card.join(name),
        card.join(format!("{REMOVAL_PREFIX}{name}")),
    );
    storage
        .rename(&dir, &going)
        .map_err(|source| RecorderError::io("rename", &dir, source))?;
    sync(storage, card)?;
    remove_all(storage, &going)?;
    sync(storage, card)?;
    remove_file(storage, &receipt_path(card, name))
}

fn remove_all(storage: &mut dyn CardStorage, dir: &Path) -> Result<(), RecorderError> {
    storage
        .remove_tree(dir)
        .map_err(|source| RecorderError::io("remove the folder", dir, source))
}

/// A file that is already gone is not an error.
fn remove_file(storage: &mut dyn CardStorage, path: &Path) -> Result<(), RecorderError> {
    match storage.remove(path) {
        Err(source) if source.kind() != io::ErrorKind::NotFound => {
            Err(RecorderError::io("remove", path, source))
        }
        _ => Ok(()),
    }
}

fn receipt_path(card: &Path, name: &str) -> PathBuf {
    card.join(RECEIPTS_FOLDER).join(format!("{name}.json"))
}

fn is_folder(storage: &mut dyn CardStorage, path: &Path) -> bool {
    storage
        .kind(path)
        .is_ok_and(|kind| kind == StoredKind::Folder)
}

fn list(storage: &mut dyn CardStorage, dir: &Path) -> Result<Vec<String>, RecorderError> {
    storage
        .names(dir, MAX_CARD_NAMES)
        .map_err(|source| RecorderError::io("list", dir, source))
}

fn sync(storage: &mut dyn CardStorage, dir: &Path) -> Result<(), RecorderError> {
    storage
        .sync_dir(dir)
        .map_err(|source| RecorderError::io("sync the folder", dir, source))
}
