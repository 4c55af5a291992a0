//! Whether two folders hold the same trip, where only their sound can tell.

use std::path::Path;

use anyhow::Result;
use jumpseat_trip::WAV_HEADER_BYTES;

use super::append_only::is_wav;
use super::evidence::beginning;
use super::find::{SourceFile, SourceTrip, is_journal};
use super::source::{FetchEvent, FileRange, TripSource};

/// A second of sound is enough, and silence of any length is not.
const ENOUGH_SOUND_BYTES: u64 = 32_000;
const MAX_COMPARED_BYTES: u64 = 2 << 20;
/// Files that are looked at, until one is not silent.
const MAX_COMPARED_FILES: usize = 8;
/// Whether what is in both is the same: the beginning of a file of sound, or of a
/// journal in which no record is whole. Where nothing is in both it is another trip.
pub(super) fn is_same_sound(
    source: &mut dyn TripSource,
    trip: &SourceTrip,
    folder: &Path,
) -> Result<bool> {
    let here = |file: &SourceFile| {
        let data = folder.join(&file.name).symlink_metadata().ok()?;
        Some(data.len().min(file.bytes)).filter(|_| data.is_file())
    };
    let mut both: Vec<(&SourceFile, u64)> = trip
        .files
        .iter()
        .filter(|file| file.name.contains('/') || is_journal(&file.name))
        .filter_map(|file| Some((file, here(file)?)))
        .filter(|(_, length)| *length > WAV_HEADER_BYTES)
        .collect();
    // The shortest that is long enough costs the least.
    both.sort_by_key(|(_, length)| (*length < ENOUGH_SOUND_BYTES, *length));
    for (file, length) in both.into_iter().take(MAX_COMPARED_FILES) {
        let length = length.min(MAX_COMPARED_BYTES);
        let Some(theirs) = beginning_there(source, file, length)? else {
            continue;
        };
        let Some(own) = beginning(&folder.join(&file.name), length) else {
            continue;
        };
        let from = if is_wav(&file.name) {
            WAV_HEADER_BYTES as usize
        } else {
            0
        };
        let (own, theirs) = (own.get(from..), theirs.get(from..));
        if own != theirs {
            return Ok(false);
        }
        if own.is_some_and(tells) {
            return Ok(true);
        }
    }
    Ok(false)
}

/// Whether the bytes are more than silence, in which every trip is like every other.
fn tells(bytes: &[u8]) -> bool {
    let mut pairs = bytes.chunks_exact(2);
    let first = pairs.next();
    pairs.filter(|pair| Some(*pair) != first).count() > 8
}

/// None when it cannot be read.
fn beginning_there(
    source: &mut dyn TripSource,
    file: &SourceFile,
    length: u64,
) -> Result<Option<Vec<u8>>> {
    let mut text = Some(Vec::new());
    let wanted = FileRange {
        path: file.path.clone(),
        from: 0,
        length,
    };
    source.fetch(&[wanted], &mut |_, got| {
        match (got, &mut text) {
            (FetchEvent::Piece(piece), Some(text)) => text.extend(piece),
            (FetchEvent::Failed(_), text) => *text = None,
            (FetchEvent::Piece(_), None) => {}
        }
        Ok(())
    })?;
    Ok(text)
}
