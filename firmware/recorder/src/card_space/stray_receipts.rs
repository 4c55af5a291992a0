//! Receipts of no trip, which go.

use std::collections::BTreeSet;
use std::io;
use std::path::Path;

use super::{MAX_RECEIPT_BYTES, RECEIPTS_FOLDER, is_folder, list, remove_file};
use crate::error::RecorderError;
use crate::storage::{CardStorage, StoredKind};
use crate::trip_number::trip_number;

/// Receipts are looked through so many at a time, and so many times.
const AT_ONCE: usize = 4_096;
const MOST_ROUNDS: usize = 1_024;

/// Removes from the receipts what belongs to no trip on the card, and what is too long
/// to be one; gives how many went. Folders stay: the pull account can make none.
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
    for _ in 0..MOST_ROUNDS {
        let names = storage
            .names(&dir, AT_ONCE)
            .map_err(|source| RecorderError::io("look into", &dir, source))?;
        // Looked for after the receipts: a trip is there before anything is said of it.
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
                // The home computer has put it in its place meanwhile.
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

/// A receipt of one of these trips, or one that is being written.
fn belongs(name: &str, trips: &BTreeSet<String>) -> bool {
    let part = |name: &str| Some(name.strip_prefix('.')?.strip_suffix(".part")?.to_owned());
    let whole = part(name).unwrap_or_else(|| name.to_owned());
    let trip = whole.strip_suffix(".json");
    trip.is_some_and(|trip| trips.contains(trip))
}
