//! Reads ADIF files of any version as programs really write them.
//!
//! Pure: bytes in, contacts and complaints out. Nothing that a file declares is
//! allocated before it is there, and no file takes longer than its length warrants.

mod adi;
mod adx;
mod contact;
mod length;
mod tag;
#[cfg(test)]
mod tests;
mod value;

use std::borrow::Cow;

use crate::reading::{LogFileReading, ReadComplaints, ReadContact, collect, text};
use jumpseat_entries::ExtraField;

/// One record as it stood in the file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
struct AdifRecord {
    /// Line of its first field, from 1.
    line: usize,
    /// In the order of the file; names in upper case, values without what is
    /// around them.
    fields: Vec<ExtraField>,
}

/// What becomes of the records of a file.
trait RecordSink<E> {
    /// Fields that the other log's user defined: name, kind, allowed values.
    fn define(&mut self, definitions: Vec<ExtraField>);
    /// A record, and the byte behind it.
    fn record(&mut self, raw: AdifRecord, behind: usize) -> Result<(), E>;
    fn complaints(&mut self) -> &mut ReadComplaints;
}

/// Understands each record and hands it on.
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

/// Fields of a header that say nothing about a contact.
fn is_header(name: &str) -> bool {
    matches!(
        name,
        "ADIF_VER" | "CREATED_TIMESTAMP" | "PROGRAMID" | "PROGRAMVERSION"
    ) || name.strip_prefix("USERDEF").is_some_and(|number| {
        !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit())
    })
}

/// A data type indicator (ADIF 3.1.6, "Data Types").
fn is_kind(text: &str) -> bool {
    text.len() == 1 && text.bytes().all(|byte| byte.is_ascii_alphabetic())
}

/// A definition such as "SweaterSize,{S,M,L}".
fn defined(text: &str, kind: Option<String>) -> ExtraField {
    let (name, limits) = match text.split_once(',') {
        Some((name, limits)) => (name, limits),
        None => (text, ""),
    };
    ExtraField {
        name: name.trim().to_uppercase(),
        value: String::new(),
        kind,
        user: Some(limits.split_whitespace().collect()),
    }
}
