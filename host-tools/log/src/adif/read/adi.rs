//! ADI files: text with tags.

use super::length::{self, Counts, Evidence};
use super::{Raw, Scanned, defined, is_header, is_kind, tag};
use crate::Extra;
use crate::reading::{Lines, clean, value};

/// Reads the fields of every record. Without a header, and with one that does
/// not end, the records are read all the same. Where a length fits in bytes and in
/// characters, it is read as most of the file's other lengths must be.
pub(super) fn scan(bytes: &[u8]) -> Scanned {
    let (scanned, evidence) = scan_as(bytes, Counts::Bytes);
    match evidence.counts() {
        Counts::Bytes => scanned,
        counts => scan_as(bytes, counts).0,
    }
}

fn scan_as(bytes: &[u8], counts: Counts) -> (Scanned, Evidence) {
    let mut evidence = Evidence::default();
    let mut scanned = Scanned::default();
    let mut record = Raw::default();
    let (mut at, mut lines) = (0, Lines::new(bytes));
    while let Some(tag) = tag::next(bytes, at) {
        at = tag.end;
        if tag.is(b"EOH") {
            // What is before the end of the header is no contact.
            if scanned.records.is_empty() {
                record = Raw::default();
            }
        } else if tag.is(b"EOR") {
            if !record.fields.is_empty() {
                scanned.records.push(std::mem::take(&mut record));
            }
        } else {
            let line = lines.of(tag.start);
            let name = value(tag.name).to_uppercase();
            let (end, exact) = length::end(bytes, tag.end, tag.declared(), counts, &mut evidence);
            let text = value(bytes.get(tag.end..end).unwrap_or_default());
            at = end;
            if !exact {
                let reason = format!("{name}: its length is wrong; read up to the next field");
                scanned.complaints.add(line, reason);
            }
            let kind = tag.kind.map(|kind| value(kind.trim_ascii()).to_uppercase());
            let kind = kind.filter(|kind| is_kind(kind));
            if is_header(&name) {
                if name.starts_with("USERDEF") {
                    scanned.defined.push(defined(&text, kind));
                }
                continue;
            }
            if record.fields.is_empty() {
                record.line = line;
            }
            record.fields.push(Extra {
                name,
                value: clean(&text),
                kind,
                user: None,
            });
        }
    }
    if !record.fields.is_empty() {
        scanned.complaints.add(
            record.line,
            "a record without an end (<EOR>), perhaps cut off; it was left out".to_owned(),
        );
    }
    (scanned, evidence)
}
