//! Checks whether a trip is safe at home: compares its receipt with the board's own files.

use std::collections::BTreeMap;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use jumpseat_core::journal::Sha256Hex;
use serde::Deserialize;
use sha2::{Digest, Sha256};

use crate::card_layout::{MAX_RECEIPT_BYTES, RECEIPTS_FOLDER, receipt_path};
use crate::sha256::hex;
use crate::storage::{CardStorage, StoredKind, is_folder, read_text};

/// Most files of a trip.
const MAX_TRIP_FILES: usize = 100_000;
/// Deepest folder of a trip. It has one, `audio`; later formats may have more.
const MAX_FOLDER_DEPTH: usize = 4;
/// Longest file of a trip: a WAV file cannot be longer.
const MAX_FILE_BYTES: u64 = 1 << 32;
const HASH_CHUNK_BYTES: usize = 64 * 1024;

#[derive(Debug, Deserialize)]
struct CardReceipt {
    format: u32,
    trip: String,
    files: Vec<ReceiptEntry>,
}

#[derive(Debug, Deserialize)]
struct ReceiptEntry {
    path: String,
    bytes: u64,
    sha256: String,
}

/// An ordinary file of a trip.
#[derive(Debug)]
struct OwnTripFile {
    path: PathBuf,
    /// Path from the trip's folder, with "/" between the parts.
    relative: String,
    bytes: u64,
}

/// Whether the receipt lists every file of the trip with its true hash. Any doubt, an
/// unlisted file and any error mean no.
pub(super) fn is_confirmed(storage: &mut dyn CardStorage, card: &Path, name: &str) -> bool {
    let dir = card.join(name);
    if !is_folder(storage, &dir) || !is_folder(storage, &card.join(RECEIPTS_FOLDER)) {
        return false;
    }
    let Some(copied) = receipt(storage, card, name) else {
        return false;
    };
    let mut files = Vec::new();
    if gather(storage, &dir, "", 0, &mut files).is_err() {
        return false;
    }
    // Lengths are compared first, because that costs nothing.
    let claims: Option<Vec<&ReceiptEntry>> = files
        .iter()
        .map(|file| {
            let copied = copied.get(&file.relative)?;
            (copied.bytes == file.bytes).then_some(copied)
        })
        .collect();
    let Some(claims) = claims.filter(|claims| !claims.is_empty()) else {
        return false;
    };
    files.iter().zip(claims).all(|(file, claim)| {
        hash(storage, &file.path, file.bytes).is_ok_and(|sum| sum == claim.sha256.as_str())
    })
}

/// The entries of a trip's receipt by path; `None` when the receipt is not valid.
fn receipt(
    storage: &mut dyn CardStorage,
    card: &Path,
    name: &str,
) -> Option<BTreeMap<String, ReceiptEntry>> {
    let text = read_text(storage, &receipt_path(card, name), MAX_RECEIPT_BYTES).ok()?;
    let receipt: CardReceipt = serde_json::from_str(&text).ok()?;
    if receipt.format != 1 || receipt.trip != name {
        return None;
    }
    let mut files = BTreeMap::new();
    for copied in receipt.files {
        if files.insert(copied.path.clone(), copied).is_some() {
            return None;
        }
    }
    Some(files)
}

/// Collects every file below a folder.
///
/// # Errors
/// Also for anything that a trip never has: links, pipes, folders too deep, too
/// many files, files too long.
fn gather(
    storage: &mut dyn CardStorage,
    dir: &Path,
    prefix: &str,
    depth: usize,
    found: &mut Vec<OwnTripFile>,
) -> io::Result<()> {
    for name in storage.names(dir, MAX_TRIP_FILES + 1)? {
        let (path, relative) = (dir.join(&name), format!("{prefix}{name}"));
        match storage.kind(&path)? {
            StoredKind::Folder if depth < MAX_FOLDER_DEPTH => {
                gather(storage, &path, &format!("{relative}/"), depth + 1, found)?;
            }
            StoredKind::File { bytes }
                if bytes <= MAX_FILE_BYTES && found.len() < MAX_TRIP_FILES =>
            {
                found.push(OwnTripFile {
                    path,
                    relative,
                    bytes,
                });
            }
            _ => return Err(io::ErrorKind::InvalidInput.into()),
        }
    }
    Ok(())
}

/// SHA-256 in hex of a file that must have this length.
fn hash(storage: &mut dyn CardStorage, path: &Path, length: u64) -> io::Result<Sha256Hex> {
    let mut file = storage.open(path)?.take(length.saturating_add(1));
    let mut digest = Sha256::new();
    let mut bytes = 0;
    let mut chunk = vec![0; HASH_CHUNK_BYTES];
    loop {
        let count = file.read(&mut chunk)?;
        if count == 0 {
            break;
        }
        digest.update(chunk.get(..count).unwrap_or(&[]));
        bytes += count as u64;
    }
    if bytes != length {
        return Err(io::ErrorKind::InvalidData.into());
    }
    Ok(hex(digest))
}
