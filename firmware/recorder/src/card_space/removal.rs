//! Removes trips that are safe at home, oldest first, until enough space is free.

use std::path::Path;

use super::receipt::is_confirmed;
use crate::card_layout::{MAX_CARD_NAMES, REMOVAL_PREFIX, receipt_path, removal_path, trip_number};
use crate::error::RecorderError;
use crate::storage::CardStorage;
use crate::storage::checked::{free_bytes, names, remove, sync_dir};

/// Removes confirmed trips, oldest first, until `floor` bytes are free or none is left, and
/// returns the names of those removed. The trip `current` is being written and stays.
///
/// # Errors
/// [`RecorderError::Io`] when the card cannot be read, or when nothing could be
/// removed; each trip is then complete, or marked as being removed.
pub fn free_space(
    storage: &mut dyn CardStorage,
    card: &Path,
    floor: u64,
    current: &str,
) -> Result<Vec<String>, RecorderError> {
    let mut removed = Vec::new();
    // A trip that cannot be removed does not keep others from being removed.
    let mut first_error = None;
    let mut trips = names(storage, card, MAX_CARD_NAMES)?;
    for removing in trips.iter().filter(|name| name.starts_with(REMOVAL_PREFIX)) {
        let result =
            remove_folder(storage, &card.join(removing)).and_then(|()| sync_dir(storage, card));
        first_error = first_error.or(result.err());
    }
    trips.retain(|name| trip_number(name).is_some() && name != current);
    trips.sort_by_key(|name| trip_number(name));
    for name in trips {
        if free_bytes(storage, card)? >= floor {
            break;
        }
        if is_confirmed(storage, card, &name) {
            match remove_trip(storage, card, &name) {
                Ok(()) => removed.push(name),
                Err(error) => first_error = first_error.or(Some(error)),
            }
        }
    }
    match first_error {
        Some(error) if removed.is_empty() => Err(error),
        _ => Ok(removed),
    }
}

/// The rename marks the whole trip as being removed in one step; then its files are
/// removed.
fn remove_trip(
    storage: &mut dyn CardStorage,
    card: &Path,
    name: &str,
) -> Result<(), RecorderError> {
    let (dir, removing) = (card.join(name), removal_path(card, name));
    storage
        .rename(&dir, &removing)
        .map_err(|source| RecorderError::io("rename", &dir, source))?;
    sync_dir(storage, card)?;
    remove_folder(storage, &removing)?;
    sync_dir(storage, card)?;
    remove(storage, &receipt_path(card, name))
}

fn remove_folder(storage: &mut dyn CardStorage, dir: &Path) -> Result<(), RecorderError> {
    storage
        .remove_tree(dir)
        .map_err(|source| RecorderError::io("remove the folder", dir, source))
}
