//! Compares the sound of two folders, where nothing else shows whether they hold the same
//! trip.

use std::path::Path;

use crate::error::PullError;
use crate::identity::file_beginning;
use crate::source::{FetchEvent, FileRange, TripSource};
use crate::source_trip::{SourceFile, SourceTrip, is_journal, is_wav};

/// Bytes of a second of sound: that is enough, while silence of any length is not.
const ENOUGH_SOUND_BYTES: u64 = 32_000;
/// Bytes compared of a file.
const MAX_COMPARED_BYTES: u64 = 2 << 20;
/// Files compared, until one is not silent.
const MAX_COMPARED_FILES: usize = 8;
/// Bytes before the samples, which are the same in every file.
const WAV_HEADER_BYTES: usize = 44;

/// Whether a file that both have begins with the same bytes: a sound file, or a journal
/// without an intact record. Where they have no file in common it is another trip.
pub(super) fn is_same_sound(
    source: &mut dyn TripSource,
    trip: &SourceTrip,
    folder: &Path,
) -> Result<bool, PullError> {
    let here = |file: &SourceFile| {
        let data = folder.join(&file.name).symlink_metadata().ok()?;
        Some(data.len().min(file.bytes)).filter(|_| data.is_file())
    };
    let mut both: Vec<(&SourceFile, u64)> = trip
        .files
        .iter()
        .filter(|file| file.name.contains('/') || is_journal(&file.name))
        .filter_map(|file| Some((file, here(file)?)))
        .filter(|(_, length)| *length > WAV_HEADER_BYTES as u64)
        .collect();
    // The shortest that is long enough takes the least time.
    both.sort_by_key(|(_, length)| (*length < ENOUGH_SOUND_BYTES, *length));
    for (file, length) in both.into_iter().take(MAX_COMPARED_FILES) {
        let length = length.min(MAX_COMPARED_BYTES);
        let Some(theirs) = beginning_there(source, file, length)? else {
            continue;
        };
        let Some(own) = file_beginning(&folder.join(&file.name), length) else {
            continue;
        };
        let from = if is_wav(&file.name) {
            WAV_HEADER_BYTES
        } else {
            0
        };
        let (own, theirs) = (own.get(from..), theirs.get(from..));
        if own != theirs {
            return Ok(false);
        }
        if own.is_some_and(is_distinctive) {
            return Ok(true);
        }
    }
    Ok(false)
}

/// Whether the bytes are more than silence, in which all trips are alike.
fn is_distinctive(bytes: &[u8]) -> bool {
    let mut pairs = bytes.chunks_exact(2);
    let first = pairs.next();
    pairs.filter(|pair| Some(*pair) != first).count() > 8
}

/// The first bytes of the source's file; `None` when it cannot be read.
fn beginning_there(
    source: &mut dyn TripSource,
    file: &SourceFile,
    length: u64,
) -> Result<Option<Vec<u8>>, PullError> {
    let mut text = Some(Vec::new());
    let wanted = FileRange {
        path: file.path.clone(),
        from: 0,
        length,
    };
    source.fetch(&[wanted], &mut |_, event| {
        match (event, &mut text) {
            (FetchEvent::Piece(piece), Some(text)) => text.extend(piece),
            (FetchEvent::Failed(_), text) => *text = None,
            (FetchEvent::Piece(_), None) => {}
        }
        Ok(())
    })?;
    Ok(text)
}
