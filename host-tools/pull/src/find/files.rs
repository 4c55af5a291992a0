//! Lists the files of one trip.

use std::collections::BTreeSet;

use crate::error::PullError;
use crate::identity::is_plain_name;
use crate::source::{SourceEntryKind, TripSource};
use crate::source_trip::{MAX_TEXT_FILE_BYTES, SourceFile, SourceTrip, is_journal};

/// A trip has one level of folders, for sound; the rest is room for later versions.
const MAX_TRIP_DEPTH: usize = 4;
/// Files of one trip: a day of short overs has some thousands.
const MAX_TRIP_FILES: usize = 100_000;
/// A WAV file can be no longer.
const MAX_SOUND_FILE_BYTES: u64 = 1 << 32;

/// Lists the files of a trip; `prefix` leads to it and ends in "/", or is empty.
pub(super) fn list_files(
    source: &mut dyn TripSource,
    prefix: &str,
    trip: &mut SourceTrip,
) -> Result<(), PullError> {
    add_folder(source, prefix, "", 0, trip)?;
    if trip.files.len() > MAX_TRIP_FILES {
        trip.files.clear();
        trip.add_doubt(format!(
            "{} has more than {MAX_TRIP_FILES} files; no trip has that many, and it was not copied",
            source.display_path(prefix)
        ));
    }
    trip.files.sort_by_key(|file| {
        let last = match file.name.as_str() {
            "trip.json" => 2,
            "journal.jsonl" => 1,
            _ => 0,
        };
        (last, file.name.clone())
    });
    if !trip.files.is_empty() && !trip.files.iter().any(|file| is_journal(&file.name)) {
        let note =
            "it has no journal, so its sound could not be compared with the board's checksums";
        trip.notes.push(note.into());
    }
    Ok(())
}

/// Adds the regular files of a folder that have plain names; hidden ones are left out.
fn add_folder(
    source: &mut dyn TripSource,
    prefix: &str,
    below: &str,
    depth: usize,
    trip: &mut SourceTrip,
) -> Result<(), PullError> {
    let folder = format!("{prefix}{below}");
    let mut entries = match source.list(folder.trim_end_matches('/')) {
        Ok(entries) => entries,
        Err(error) if error.is_source_gone() => return Err(error),
        Err(error) => {
            trip.add_doubt(format!("{}; its content was not copied", error.message()));
            return Ok(());
        }
    };
    entries.sort_by(|one, other| one.name.cmp(&other.name));
    let mut names = BTreeSet::new();
    for entry in entries {
        let Some(own) = entry.name.filter(|own| is_plain_name(own)) else {
            let doubt = "a name in it cannot be a file name on this computer; it was left out";
            trip.add_doubt(format!("{}: {doubt}", source.display_path(&folder)));
            continue;
        };
        if own.starts_with('.') {
            continue;
        }
        if !names.insert(own.to_lowercase()) {
            let doubt = "is there twice, except for its capitals; it was left out";
            let path = source.display_path(&format!("{folder}{own}"));
            trip.add_doubt(format!("{path} {doubt}"));
            continue;
        }
        let (name, path) = (format!("{below}{own}"), format!("{folder}{own}"));
        let mut leave_out = |why: &str| {
            let path = source.display_path(&path);
            trip.add_doubt(format!("{path} {why}; it was left out"));
        };
        match entry.kind {
            SourceEntryKind::Other => leave_out("is neither file nor folder"),
            SourceEntryKind::Folder if depth == MAX_TRIP_DEPTH => {
                leave_out("is nested too deeply");
            }
            SourceEntryKind::Folder => {
                add_folder(source, prefix, &format!("{name}/"), depth + 1, trip)?;
            }
            SourceEntryKind::File if entry.bytes > MAX_SOUND_FILE_BYTES => {
                leave_out("is longer than any recording");
            }
            SourceEntryKind::File if entry.bytes > MAX_TEXT_FILE_BYTES && below.is_empty() => {
                leave_out("is longer than any journal");
            }
            // There are too many already.
            SourceEntryKind::File if trip.files.len() > MAX_TRIP_FILES => return Ok(()),
            SourceEntryKind::File => trip.files.push(SourceFile {
                path,
                name,
                bytes: entry.bytes,
                modified: entry.modified,
            }),
        }
    }
    Ok(())
}
