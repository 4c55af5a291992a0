//! Room on a card that is nearly full: the oldest trips whose copy the home
//! computer confirmed go, and nothing else ever.
//!
//! The home computer leaves a receipt, `receipts/TRIP.json`, with the hash of
//! every file that it copied. The board believes it only after hashing its own
//! files: each of them must be in the receipt with its length and its hash.

use std::io::{self, Read};
use std::path::{Path, PathBuf};

use serde::Deserialize;
use sha2::{Digest, Sha256};

use crate::card::trip_number;
use crate::error::RecorderError;
use crate::storage::{Storage, read_text};

/// The folder of the receipts.
pub const RECEIPTS: &str = "receipts";
/// A trip that is going has this before its name, so that no part of it is ever
/// taken for a trip.
const GOING: &str = ".going-";
const CHUNK: usize = 64 * 1024;

#[derive(Debug, Deserialize)]
struct Receipt {
    format: u32,
    trip: String,
    files: Vec<Copied>,
}

#[derive(Debug, Deserialize)]
struct Copied {
    path: String,
    bytes: u64,
    sha256: String,
}

/// Removes confirmed trips, oldest first, until so many bytes are free or none is
/// left; gives the names of those that went. `current` is being written.
///
/// # Errors
/// [`RecorderError::Io`] when the card cannot be read or changed; a trip is
/// then whole, or going.
pub fn make_room(
    storage: &mut dyn Storage,
    card: &Path,
    floor: u64,
    current: &str,
) -> Result<Vec<String>, RecorderError> {
    let mut gone = Vec::new();
    let mut names = list(storage, card)?;
    for going in names.iter().filter(|name| name.starts_with(GOING)) {
        remove_all(storage, &card.join(going))?;
        sync(storage, card)?;
    }
    names.retain(|name| trip_number(name).is_some() && name != current);
    names.sort_by_key(|name| trip_number(name));
    for name in names {
        let free = storage
            .free_bytes(card)
            .map_err(|source| RecorderError::io("ask the space of", card, source))?;
        if free >= floor {
            break;
        }
        if is_confirmed(storage, card, &name) {
            remove_trip(storage, card, &name)?;
            gone.push(name);
        }
    }
    Ok(gone)
}

/// At one stroke it is no trip any more; then its files go.
fn remove_trip(storage: &mut dyn Storage, card: &Path, name: &str) -> Result<(), RecorderError> {
    let (dir, going) = (card.join(name), card.join(format!("{GOING}{name}")));
    storage
        .rename(&dir, &going)
        .map_err(|source| RecorderError::io("rename", &dir, source))?;
    sync(storage, card)?;
    remove_all(storage, &going)?;
    sync(storage, card)?;
    let receipt = receipt_path(card, name);
    storage
        .remove(&receipt)
        .map_err(|source| RecorderError::io("remove", &receipt, source))
}

fn remove_all(storage: &mut dyn Storage, dir: &Path) -> Result<(), RecorderError> {
    for name in list(storage, dir)? {
        let path = dir.join(name);
        match storage.names(&path) {
            Ok(_) => remove_all(storage, &path)?,
            Err(_) => storage
                .remove(&path)
                .map_err(|source| RecorderError::io("remove", &path, source))?,
        }
    }
    storage
        .remove_dir(dir)
        .map_err(|source| RecorderError::io("remove the folder", dir, source))
}

/// The receipt names every file of the trip with its true hash. Any doubt, any
/// file too many and any error mean no.
fn is_confirmed(storage: &mut dyn Storage, card: &Path, name: &str) -> bool {
    let Ok(text) = read_text(storage, &receipt_path(card, name)) else {
        return false;
    };
    let Ok(receipt) = serde_json::from_str::<Receipt>(&text) else {
        return false;
    };
    if receipt.format != 1 || receipt.trip != name {
        return false;
    }
    let Ok(files) = files(storage, &card.join(name), "") else {
        return false;
    };
    !files.is_empty()
        && files.iter().all(|(path, relative)| {
            let copied = receipt.files.iter().find(|copied| copied.path == *relative);
            let own = hash(storage, path).ok();
            copied.map(|copied| (copied.bytes, copied.sha256.clone())) == own && own.is_some()
        })
}

/// Every file below a folder, with its path from there.
fn files(
    storage: &mut dyn Storage,
    dir: &Path,
    prefix: &str,
) -> io::Result<Vec<(PathBuf, String)>> {
    let mut found = Vec::new();
    for name in storage.names(dir)? {
        let (path, relative) = (dir.join(&name), format!("{prefix}{name}"));
        if storage.names(&path).is_ok() {
            found.extend(files(storage, &path, &format!("{relative}/"))?);
        } else {
            found.push((path, relative));
        }
    }
    Ok(found)
}

/// Length and SHA-256 in hex.
fn hash(storage: &mut dyn Storage, path: &Path) -> io::Result<(u64, String)> {
    let mut file = storage.open(path)?;
    let mut digest = Sha256::new();
    let mut bytes = 0;
    let mut chunk = vec![0; CHUNK];
    loop {
        let count = file.read(&mut chunk)?;
        if count == 0 {
            break;
        }
        digest.update(chunk.get(..count).unwrap_or(&[]));
        bytes += count as u64;
    }
    let hex = digest
        .finalize()
        .into_iter()
        .map(|byte| format!("{byte:02x}"));
    Ok((bytes, hex.collect()))
}

fn receipt_path(card: &Path, name: &str) -> PathBuf {
    card.join(RECEIPTS).join(format!("{name}.json"))
}

fn list(storage: &mut dyn Storage, dir: &Path) -> Result<Vec<String>, RecorderError> {
    storage
        .names(dir)
        .map_err(|source| RecorderError::io("look into", dir, source))
}

fn sync(storage: &mut dyn Storage, dir: &Path) -> Result<(), RecorderError> {
    storage
        .sync_dir(dir)
        .map_err(|source| RecorderError::io("sync the folder", dir, source))
}
