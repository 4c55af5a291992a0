//! Removes the receipts that belong to no trip.

use std::collections::BTreeSet;
use std::io;
use std::path::Path;

use super::{MAX_RECEIPT_BYTES, RECEIPTS_FOLDER, is_folder, list, remove_file};
use crate::error::RecorderError;
use crate::storage::{CardStorage, StoredKind};
use crate::trip_number::trip_number;

/// Receipts are read this many at a time, in at most `MAX_ROUNDS` rounds.
const RECEIPTS_PER_ROUND: usize = 4_096;
const MAX_ROUNDS: usize = 1_024;

/// Removes from the receipts what belongs to no trip on the card, and what is too long for
/// a receipt; returns how many were removed. Folders stay: the pull account cannot create
/// any.
///
/// # Errors
/// [`RecorderError::Io`] when the card cannot be read or changed.
pub fn remove_stray_receipts(
    storage: &mut dyn CardStorage,
    card: &Path,
) -> Result<usize, RecorderError> {
    let dir = card.join(RECEIPTS_FOLDER);
    if !is_folder(storage, &dir) {
        return Ok(0);
    }
    let mut gone = 0;
    for _ in 0..MAX_ROUNDS {
        let names = storage
            .names(&dir, RECEIPTS_PER_ROUND)
            .map_err(|source| RecorderError::io("list", &dir, source))?;
        // Listed after the receipts: a trip exists before its receipt does.
        let trips: BTreeSet<String> = list(storage, card)?
            .into_iter()
            .filter(|name| trip_number(name).is_some())
            .collect();
        let before = gone;
        for name in names {
            let path = dir.join(&name);
            let stays = match storage.kind(&path) {
                Ok(StoredKind::Folder) => true,
                Ok(StoredKind::File { bytes }) => {
                    bytes <= MAX_RECEIPT_BYTES && belongs(&name, &trips)
                }
                Ok(StoredKind::Other) => false,
                // The home computer has renamed it meanwhile.
                Err(error) if error.kind() == io::ErrorKind::NotFound => true,
                Err(source) => return Err(RecorderError::io("look at", &path, source)),
            };
            if !stays {
                remove_file(storage, &path)?;
                gone += 1;
            }
        }
        if gone == before {
            break;
        }
    }
    Ok(gone)
}

/// Whether it is a receipt of one of these trips, or one that is being written.
fn belongs(name: &str, trips: &BTreeSet<String>) -> bool {
    let part = |name: &str| Some(name.strip_prefix('.')?.strip_suffix(".part")?.to_owned());
    let whole = part(name).unwrap_or_else(|| name.to_owned());
    let trip = whole.strip_suffix(".json");
    trip.is_some_and(|trip| trips.contains(trip))
}
