//! Reads the evidence of a trip from its folder in the library.

use std::io::Read as _;
use std::path::Path;

use jumpseat_files::open_regular_file;

use super::evidence::TripEvidence;
use super::header::MAX_HEADER_BYTES;

/// Bytes read of a journal: some hundred records, and more where none of them is intact.
const LIBRARY_JOURNAL_HEAD: u64 = 16 << 10;
const LONG_LIBRARY_JOURNAL_HEAD: u64 = 1 << 20;

/// Reads the evidence of a folder; a missing or unreadable file contributes nothing.
pub(crate) fn read_evidence(folder: &Path) -> TripEvidence {
    let header = file_beginning(&folder.join("trip.json"), MAX_HEADER_BYTES);
    let read = |most| {
        let journal = file_beginning(&folder.join("journal.jsonl"), most);
        TripEvidence::new(header.as_deref(), &journal.unwrap_or_default())
    };
    let short = read(LIBRARY_JOURNAL_HEAD);
    if short.has_records() {
        short
    } else {
        read(LONG_LIBRARY_JOURNAL_HEAD)
    }
}

/// The first bytes of a file, `most` of them; `None` when it cannot be read.
pub(crate) fn file_beginning(path: &Path, most: u64) -> Option<Vec<u8>> {
    let mut text = Vec::new();
    let file = open_regular_file(path).ok()?;
    file.take(most).read_to_end(&mut text).ok()?;
    Some(text)
}
