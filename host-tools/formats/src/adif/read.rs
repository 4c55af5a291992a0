//! Reads ADIF files of any version, as programs really write them.
//!
//! Pure: bytes in, contacts and complaints out. Nothing that a file declares is
//! allocated before it is there, and no file takes longer than its length warrants.

mod adi;
mod adx;
mod contact;
mod length;
mod record;
mod tag;
#[cfg(test)]
mod tests;
mod value;

use std::borrow::Cow;

use jumpseat_entries::ExtraField;

use crate::reading::{LogFileReading, ReadComplaints, ReadContact, collect, text};
use record::{AdifRecord, RecordSink};

/// Makes a contact of each record and hands it on.
struct RecordReader<F> {
    defined: Vec<ExtraField>,
    complaints: ReadComplaints,
    each: F,
}

impl<E, F: FnMut(ReadContact, usize) -> Result<(), E>> RecordSink<E> for RecordReader<F> {
    fn define(&mut self, definitions: Vec<ExtraField>) {
        self.defined.extend(definitions);
    }

    fn record(&mut self, raw: AdifRecord, behind: usize) -> Result<(), E> {
        let line = raw.line;
        match contact::contact_from_record(raw, &self.defined, &mut self.complaints) {
            Some(contact) => (self.each)(ReadContact { line, contact }, behind),
            None => {
                self.complaints.add(
                    line,
                    "a record without a call sign (CALL); it was left out".to_owned(),
                );
                Ok(())
            }
        }
    }

    fn complaints(&mut self) -> &mut ReadComplaints {
        &mut self.complaints
    }
}

/// Reads an ADI or an ADX file, whichever it is.
pub fn read(bytes: &[u8]) -> LogFileReading {
    collect(|each| self::read_each(bytes, each))
}

/// Reads a file as [`read`] does and hands each contact on, with the byte behind its
/// record, so that not all of them lie in memory; gives what could not be read. In a
/// file of UTF-16 the byte is that of the same text in UTF-8.
///
/// # Errors
/// What `each` returns; then nothing more is read.
pub fn read_each<E>(
    bytes: &[u8],
    each: impl FnMut(ReadContact, usize) -> Result<(), E>,
) -> Result<ReadComplaints, E> {
    let marked = matches!(bytes, [0xff, 0xfe, ..] | [0xfe, 0xff, ..]);
    let bytes: Cow<'_, [u8]> = if marked {
        text(bytes).into_bytes().into()
    } else {
        bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes).into()
    };
    let mut take = RecordReader {
        defined: Vec::new(),
        complaints: ReadComplaints::default(),
        each,
    };
    if is_xml(&bytes) {
        adx::scan(&text(&bytes), &mut take)?;
    } else {
        adi::scan(&bytes, &mut take)?;
    }
    let mut complaints = take.complaints;
    complaints.sort();
    Ok(complaints)
}

/// An XML file begins with its declaration, a comment or its root; an ADI file
/// with text, or with a field's tag.
fn is_xml(bytes: &[u8]) -> bool {
    let start = bytes.trim_ascii_start();
    let begins = |with: &[u8]| {
        start
            .get(..with.len())
            .is_some_and(|head| head.eq_ignore_ascii_case(with))
    };
    begins(b"<?xml") || begins(b"<!--") || begins(b"<ADX>") || begins(b"<ADX ")
}
