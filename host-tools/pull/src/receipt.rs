//! The receipt of a trip that is safe in the library, by which the board may free its
//! space. The board compares it with the hashes of its own files first.

use serde::Serialize;

use crate::checksums::ChecksumList;
use crate::error::PullError;
use crate::source::{FetchEvent, FileRange, SourceEntryKind, TripSource};
use crate::source_trip::SourceTrip;

#[derive(Serialize)]
struct PullReceipt<'a> {
    format: u32,
    trip: &'a str,
    files: Vec<PullReceiptFile<'a>>,
}

#[derive(Serialize)]
struct PullReceiptFile<'a> {
    path: &'a str,
    bytes: u64,
    sha256: &'a str,
}

/// Writes the receipt of a trip to the card, unless the same one is there. Nothing is
/// written while a file of the trip has no checksum. The receipt has the name of the
/// trip's folder on the card, whatever the trip is called in the library.
pub(crate) fn write_receipt(
    source: &mut dyn TripSource,
    card: &str,
    trip: &SourceTrip,
    checksums: &ChecksumList,
) -> Result<(), PullError> {
    let files: Option<Vec<PullReceiptFile<'_>>> = trip
        .files
        .iter()
        .map(|file| {
            Some(PullReceiptFile {
                path: &file.name,
                bytes: file.bytes,
                sha256: checksums.checksum(&file.name)?,
            })
        })
        .collect();
    let Some(files) = files else {
        return Ok(());
    };
    let receipt = PullReceipt {
        format: 1,
        trip: &trip.folder,
        files,
    };
    let text = serde_json::to_vec(&receipt)?;
    let path = format!("{card}receipts/{}.json", trip.folder);
    if !has_same_receipt(source, &path, &text) {
        source.write(&path, &text)?;
    }
    Ok(())
}

/// Whether the card holds this very receipt. An error in reading it is ignored: writing
/// it will fail for the same reason.
fn has_same_receipt(source: &mut dyn TripSource, path: &str, text: &[u8]) -> bool {
    let Ok(Some(old)) = source.metadata(path) else {
        return false;
    };
    let length = text.len() as u64;
    if old.kind != SourceEntryKind::File || old.bytes != length {
        return false;
    }
    let mut old = Vec::new();
    let wanted = FileRange {
        path: path.to_owned(),
        from: 0,
        length,
    };
    source
        .fetch(&[wanted], &mut |_, event| {
            if let FetchEvent::Piece(piece) = event {
                old.extend(piece);
            }
            Ok(())
        })
        .is_ok()
        && old == text
}
