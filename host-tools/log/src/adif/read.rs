//! Reads ADIF files of any version as programs really write them.
//!
//! Pure: bytes in, contacts and complaints out. Memory is at most a small multiple
//! of the input; nothing that a file declares is allocated before it is there.

mod adi;
mod adx;
mod contact;
mod length;
mod tag;
#[cfg(test)]
mod tests;
mod value;

use std::borrow::Cow;

use crate::Extra;
use crate::reading::{Complaints, Reading, Told, text};

pub use value::hertz;

/// One record as it stood in the file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
struct Raw {
    /// Line of its first field, from 1.
    line: usize,
    /// In the order of the file; names in upper case, values without what is
    /// around them.
    fields: Vec<Extra>,
}

/// A file before its fields are understood.
#[derive(Debug, Default)]
struct Scanned {
    /// Fields that the other log's user defined: name, kind, allowed values.
    defined: Vec<Extra>,
    records: Vec<Raw>,
    complaints: Complaints,
}

/// Reads an ADI or an ADX file, whichever it is.
pub fn read(bytes: &[u8]) -> Reading {
    let marked = matches!(bytes, [0xff, 0xfe, ..] | [0xfe, 0xff, ..]);
    let bytes: Cow<'_, [u8]> = if marked {
        text(bytes).into_bytes().into()
    } else {
        bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes).into()
    };
    let mut scanned = if is_xml(&bytes) {
        adx::scan(&text(&bytes))
    } else {
        adi::scan(&bytes)
    };
    let mut reading = Reading {
        complaints: std::mem::take(&mut scanned.complaints),
        records: Vec::with_capacity(scanned.records.len()),
    };
    for raw in std::mem::take(&mut scanned.records) {
        let line = raw.line;
        match contact::of(raw, &scanned.defined, &mut reading.complaints) {
            Some(contact) => reading.records.push(Told { line, contact }),
            None => reading.complaints.add(
                line,
                "a record without a call sign (CALL); it was left out".to_owned(),
            ),
        }
    }
    reading.complaints.sort();
    reading
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
fn defined(text: &str, kind: Option<String>) -> Extra {
    let (name, limits) = match text.split_once(',') {
        Some((name, limits)) => (name, limits),
        None => (text, ""),
    };
    Extra {
        name: name.trim().to_uppercase(),
        value: String::new(),
        kind,
        user: Some(limits.split_whitespace().collect()),
    }
}
