//! Removes the receipts that belong to no trip.

use std::collections::BTreeSet;
use std::io;
use std::path::Path;

use crate::card_layout::{
    MAX_CARD_NAMES, MAX_RECEIPT_BYTES, RECEIPTS_FOLDER, trip_number, trip_of_receipt,
};
use crate::error::RecorderError;
use crate::storage::checked::{names, remove};
use crate::storage::{CardStorage, StoredKind, is_folder};

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
    let mut removed = 0;
    for _ in 0..MAX_ROUNDS {
        let receipts = names(storage, &dir, RECEIPTS_PER_ROUND)?;
        // Listed after the receipts: a trip exists before its receipt does.
        let trips: BTreeSet<String> = names(storage, card, MAX_CARD_NAMES)?
            .into_iter()
            .filter(|name| trip_number(name).is_some())
            .collect();
        let before = removed;
        for name in receipts {
            let path = dir.join(&name);
            let stays = match storage.kind(&path) {
                Ok(StoredKind::Folder) => true,
                Ok(StoredKind::File { bytes }) => {
                    bytes <= MAX_RECEIPT_BYTES
                        && trip_of_receipt(&name).is_some_and(|trip| trips.contains(trip))
                }
                Ok(StoredKind::Other) => false,
                // The home computer has renamed it meanwhile.
                Err(error) if error.kind() == io::ErrorKind::NotFound => true,
                Err(source) => return Err(RecorderError::io("check", &path, source)),
            };
            if !stays {
                remove(storage, &path)?;
                removed += 1;
            }
        }
        if removed == before {
            break;
        }
    }
    Ok(removed)
}
