//! The receipt by which the board may free the space of a trip that is safe here.
//! The board hashes its own files before it believes it.

use anyhow::Result;
use serde::Serialize;

use super::find::SourceTrip;
use super::source::{FetchEvent, FileRange, SourceEntryKind, TripSource};
use super::sums::ChecksumList;

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

/// Writes the receipt of a trip into the card, unless it says so already. None
/// when a file of it has no checksum, so that nothing can be confirmed. It goes by the
/// name of the trip's folder on the card, whatever the trip is called here.
pub(super) fn write_receipt(
    source: &mut dyn TripSource,
    card: &str,
    trip: &SourceTrip,
    sums: &ChecksumList,
) -> Result<Option<()>> {
    let files: Option<Vec<PullReceiptFile<'_>>> = trip
        .files
        .iter()
        .map(|file| {
            Some(PullReceiptFile {
                path: &file.name,
                bytes: file.bytes,
                sha256: sums.checksum(&file.name)?,
            })
        })
        .collect();
    let Some(files) = files else {
        return Ok(None);
    };
    let receipt = PullReceipt {
        format: 1,
        trip: &trip.folder,
        files,
    };
    let text = serde_json::to_vec(&receipt)?;
    let path = format!("{card}receipts/{}.json", trip.folder);
    if !is_there(source, &path, &text) {
        source.write(&path, &text)?;
    }
    Ok(Some(()))
}

/// Whatever is in the way of reading it, writing it will tell.
fn is_there(source: &mut dyn TripSource, path: &str, text: &[u8]) -> bool {
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
        .fetch(&[wanted], &mut |_, got| {
            if let FetchEvent::Piece(piece) = got {
                old.extend(piece);
            }
            Ok(())
        })
        .is_ok()
        && old == text
}
