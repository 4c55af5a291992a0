//! Reads the beginnings of trip.json and of the journal of many trips in one go.

use crate::error::PullError;
use crate::identity::{MAX_HEADER_BYTES, TripEvidence};
use crate::source::{FetchEvent, FileRange, SourceEntry, SourceEntryKind, TripSource};

/// Bytes read of every journal to identify its trip: some twenty records, and more where
/// none of them is intact.
const JOURNAL_HEAD: u64 = 4 << 10;
const LONG_JOURNAL_HEAD: u64 = 1 << 20;

/// A path, and how many bytes of the file's beginning to read; `None` for no file.
type WantedBeginning = Option<(String, u64)>;

/// Reads what identifies each trip. `folders` are the paths of the trips' folders, with
/// "/" at the end, and their entries. A file that is missing, too long or unreadable
/// contributes nothing.
pub(super) fn read_evidence(
    source: &mut dyn TripSource,
    folders: &[(String, &[SourceEntry])],
) -> Result<Vec<TripEvidence>, PullError> {
    let short = |header: &&SourceEntry| header.bytes <= MAX_HEADER_BYTES;
    let headers = folders.iter().map(|(folder, entries)| {
        let header = find_file(entries, "trip.json").filter(short)?;
        Some((format!("{folder}trip.json"), header.bytes))
    });
    let journals = |most: u64| {
        move |(folder, entries): &(String, &[SourceEntry])| {
            let journal = find_file(entries, "journal.jsonl")?;
            Some((format!("{folder}journal.jsonl"), journal.bytes.min(most)))
        }
    };
    let both: Vec<WantedBeginning> = headers
        .chain(folders.iter().map(journals(JOURNAL_HEAD)))
        .collect();
    let mut texts = read_beginnings(source, &both)?;
    let heads = texts.split_off(folders.len());
    let make = |header: &Option<Vec<u8>>, head: &Option<Vec<u8>>| {
        TripEvidence::new(header.as_deref(), head.as_deref().unwrap_or_default())
    };
    let mut all: Vec<TripEvidence> = texts
        .iter()
        .zip(&heads)
        .map(|(header, head)| make(header, head))
        .collect();
    // A journal with a damaged beginning may have intact records further on.
    let more: Vec<WantedBeginning> = folders
        .iter()
        .zip(&all)
        .map(|(trip, evidence)| {
            let longer = journals(LONG_JOURNAL_HEAD)(trip);
            longer.filter(|(_, bytes)| !evidence.has_records() && *bytes > JOURNAL_HEAD)
        })
        .collect();
    for (number, head) in read_beginnings(source, &more)?.iter().enumerate() {
        if head.is_some() {
            all[number] = make(&texts[number], head);
        }
    }
    Ok(all)
}

fn find_file<'a>(entries: &'a [SourceEntry], name: &str) -> Option<&'a SourceEntry> {
    entries
        .iter()
        .find(|entry| entry.name.as_deref() == Some(name) && entry.kind == SourceEntryKind::File)
}

/// Reads the beginnings of files; `None` for what could not be read.
fn read_beginnings(
    source: &mut dyn TripSource,
    wanted: &[WantedBeginning],
) -> Result<Vec<Option<Vec<u8>>>, PullError> {
    let mut texts: Vec<Option<Vec<u8>>> = vec![None; wanted.len()];
    let (mut ranges, mut indexes) = (Vec::new(), Vec::new());
    for (index, beginning) in wanted.iter().enumerate() {
        if let Some((path, length)) = beginning {
            texts[index] = Some(Vec::new());
            indexes.push(index);
            ranges.push(FileRange {
                path: path.clone(),
                from: 0,
                length: *length,
            });
        }
    }
    source.fetch(&ranges, &mut |number, event| {
        let text = &mut texts[indexes[number]];
        match (event, text) {
            (FetchEvent::Piece(piece), Some(text)) => text.extend(piece),
            // Copying the file reports why it cannot be read.
            (FetchEvent::Failed(_), text) => *text = None,
            (FetchEvent::Piece(_), None) => {}
        }
        Ok(())
    })?;
    Ok(texts)
}
