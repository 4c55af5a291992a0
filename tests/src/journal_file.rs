//! Journals taken apart and put together again, for tests that change them.

use jumpseat_core::journal::{JournalLineError, JournalRecord, encode, verify};

/// The records of a journal's text; lines that are damaged are left out.
pub fn records(text: &str) -> Vec<JournalRecord> {
    let record = |line: &str| serde_json::from_slice(verify(line.as_bytes()).ok()?).ok();
    text.lines().filter_map(record).collect()
}

/// A journal of these records, counted from 1.
pub fn text(records: impl IntoIterator<Item = JournalRecord>) -> Result<String, JournalLineError> {
    let mut text = String::new();
    for (index, mut record) in records.into_iter().enumerate() {
        record.seq = index as u64 + 1;
        text.push_str(&String::from_utf8_lossy(&encode(&record)?));
    }
    Ok(text)
}
