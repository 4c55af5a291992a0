//! What a reader of log files returns: contacts, and complaints about the rest.

use std::convert::Infallible;

use serde::Serialize;

use jumpseat_entries::Contact;

/// More complaints than this are only counted: a file of nonsense must not fill the
/// memory.
const MAX_KEPT_COMPLAINTS: usize = 1000;

/// All of a file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LogFileReading {
    /// In the order of the file.
    pub records: Vec<ReadContact>,
    /// What could not be read.
    pub complaints: ReadComplaints,
}

/// A contact of a file.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadContact {
    /// Line where it begins, from 1.
    pub line: usize,
    /// The contact.
    pub contact: Contact,
}

/// What could not be read, or only by guessing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ReadComplaint {
    /// Line, from 1.
    pub line: usize,
    /// In plain words.
    pub reason: String,
}

/// Complaints, the first thousand with their reason.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ReadComplaints {
    kept: Vec<ReadComplaint>,
    more: usize,
}

impl ReadComplaints {
    pub(crate) fn add(&mut self, line: usize, reason: String) {
        if self.kept.len() < MAX_KEPT_COMPLAINTS {
            self.kept.push(ReadComplaint { line, reason });
        } else {
            self.more += 1;
        }
    }

    /// Puts them in the order of the file.
    pub(crate) fn sort(&mut self) {
        self.kept.sort_by_key(|complaint| complaint.line);
    }

    /// Those with a reason, in the order of the file.
    pub fn kept(&self) -> &[ReadComplaint] {
        &self.kept
    }

    /// How many there are beyond those.
    pub fn more(&self) -> usize {
        self.more
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.kept.len() + self.more
    }
}

/// All of a file, by what reads it contact by contact.
pub(crate) fn collect(
    reads: impl FnOnce(
        &mut dyn FnMut(ReadContact, usize) -> Result<(), Infallible>,
    ) -> Result<ReadComplaints, Infallible>,
) -> LogFileReading {
    let mut records = Vec::new();
    let Ok(complaints) = reads(&mut |told, _| {
        records.push(told);
        Ok(())
    });
    LogFileReading {
        records,
        complaints,
    }
}

/// Finds line numbers. If offsets are asked for in rising order, the file is counted once.
pub(crate) struct LineCounter<'a> {
    bytes: &'a [u8],
    at: usize,
    line: usize,
}

impl<'a> LineCounter<'a> {
    pub(crate) fn new(bytes: &'a [u8]) -> Self {
        Self {
            bytes,
            at: 0,
            line: 1,
        }
    }

    /// The line in which a byte lies.
    pub(crate) fn line_at(&mut self, offset: usize) -> usize {
        if offset < self.at {
            (self.at, self.line) = (0, 1);
        }
        let passed = self.bytes.get(self.at..offset).unwrap_or_default();
        self.line += passed.iter().filter(|byte| **byte == b'\n').count();
        self.at = offset;
        self.line
    }
}

/// The text of a file in any encoding that logs use: UTF-8, UTF-16 with its mark, and
/// Latin-1 otherwise.
pub(crate) fn text(bytes: &[u8]) -> String {
    let units = |swap: fn([u8; 2]) -> u16| {
        let units = bytes.get(2..).unwrap_or_default().chunks_exact(2);
        let units: Vec<u16> = units.map(|pair| swap([pair[0], pair[1]])).collect();
        String::from_utf16_lossy(&units)
    };
    match bytes {
        [0xff, 0xfe, ..] => units(u16::from_le_bytes),
        [0xfe, 0xff, ..] => units(u16::from_be_bytes),
        [0xef, 0xbb, 0xbf, rest @ ..] => value(rest),
        _ => value(bytes),
    }
}

/// A value that every format can hold: line breaks as `\n`, no characters that XML 1.0
/// cannot hold, no space around it.
pub(crate) fn clean(value: &str) -> String {
    let mut text = value.replace("\r\n", "\n").replace('\r', "\n");
    text.retain(crate::xml::can_hold);
    text.trim().to_owned()
}

/// UTF-8, or Latin-1 where it is not.
pub(crate) fn value(bytes: &[u8]) -> String {
    match std::str::from_utf8(bytes) {
        Ok(text) => text.to_owned(),
        Err(_) => bytes.iter().map(|byte| char::from(*byte)).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_encoding_says_the_same() {
        for bytes in [
            "José".as_bytes(),
            b"\xef\xbb\xbfJos\xc3\xa9",
            b"Jos\xe9",
            b"\xff\xfeJ\0o\0s\0\xe9\0",
            b"\xfe\xff\0J\0o\0s\0\xe9",
        ] {
            assert_eq!(text(bytes), "José");
        }
    }

    #[test]
    fn a_file_of_nonsense_does_not_fill_the_memory() {
        let mut complaints = ReadComplaints::default();
        for line in 0..MAX_KEPT_COMPLAINTS + 7 {
            complaints.add(line, "nonsense".into());
        }
        assert_eq!(
            (complaints.kept().len(), complaints.more()),
            (MAX_KEPT_COMPLAINTS, 7)
        );
        assert_eq!(complaints.count(), MAX_KEPT_COMPLAINTS + 7);
    }
}
