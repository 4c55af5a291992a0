//! The receipt by which the board may free the space of a trip that is safe here.
//! The board hashes its own files before it believes it.

use anyhow::Result;
use serde::Serialize;

use super::find::SourceTrip;
use super::source::{Got, Kind, Source, Wanted};
use super::sums::Sums;

#[derive(Serialize)]
struct Receipt<'a> {
    format: u32,
    trip: &'a str,
    files: Vec<Copied<'a>>,
}

#[derive(Serialize)]
struct Copied<'a> {
    path: &'a str,
    bytes: u64,
    sha256: &'a str,
}

/// Writes the receipt of a trip into the card, unless it says so already. None
/// when a file of it has no checksum, so that nothing can be confirmed. It goes by the
/// name of the trip's folder on the card, whatever the trip is called here.
pub(super) fn give(
    source: &mut dyn Source,
    card: &str,
    trip: &SourceTrip,
    sums: &Sums,
) -> Result<Option<()>> {
    let files: Option<Vec<Copied<'_>>> = trip
        .files
        .iter()
        .map(|file| {
            Some(Copied {
                path: &file.name,
                bytes: file.bytes,
                sha256: sums.of(&file.name)?,
            })
        })
        .collect();
    let Some(files) = files else {
        return Ok(None);
    };
    let receipt = Receipt {
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
fn is_there(source: &mut dyn Source, path: &str, text: &[u8]) -> bool {
    let Ok(Some(old)) = source.look(path) else {
        return false;
    };
    let length = text.len() as u64;
    if old.kind != Kind::File || old.bytes != length {
        return false;
    }
    let mut old = Vec::new();
    let wanted = Wanted {
        path: path.to_owned(),
        from: 0,
        length,
    };
    source
        .fetch(&[wanted], &mut |_, got| {
            if let Got::Piece(piece) = got {
                old.extend(piece);
            }
            Ok(())
        })
        .is_ok()
        && old == text
}
