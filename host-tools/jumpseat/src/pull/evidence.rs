//! What tells which trip a folder of the library holds.

use std::io::Read as _;
use std::path::Path;

use jumpseat_trip::open_regular_file;

use super::identity::MAX_HEADER_BYTES;
use super::likeness::TripEvidence;

/// Of a journal so much is read: some hundred records, and more where none is whole.
const JOURNAL_HEAD: u64 = 16 << 10;
const LONG_JOURNAL_HEAD: u64 = 1 << 20;

/// Reads it; what is missing or cannot be read says nothing.
pub(super) fn here(folder: &Path) -> TripEvidence {
    let header = beginning(&folder.join("trip.json"), MAX_HEADER_BYTES);
    let read = |most| {
        let journal = beginning(&folder.join("journal.jsonl"), most);
        TripEvidence::new(header.as_deref(), &journal.unwrap_or_default())
    };
    let short = read(JOURNAL_HEAD);
    if short.has_records() {
        short
    } else {
        read(LONG_JOURNAL_HEAD)
    }
}

/// The beginning of a file.
pub(super) fn beginning(path: &Path, most: u64) -> Option<Vec<u8>> {
    let mut text = Vec::new();
    let file = open_regular_file(path).ok()?;
    file.take(most).read_to_end(&mut text).ok()?;
    Some(text)
}
