//! Reads ADI files: text with tags.

use super::length::{LengthEvidence, LengthUnit, ValueEnd, ValueEndFinder};
use super::record::{AdifRecord, RecordSink, defined, is_header, is_kind};
use super::tag;
use crate::reading::{LineCounter, ReadComplaints, clean, value};
use jumpseat_entries::ExtraField;

/// Reads the fields of every record and hands each record on with the byte behind it.
/// Without a header, and with one that does not end, the records are read all the
/// same. Where a length fits both in bytes and in characters, the other lengths of the
/// file decide.
pub(super) fn scan<E>(bytes: &[u8], take: &mut impl RecordSink<E>) -> Result<(), E> {
    let (evidence, definitions) = look(bytes);
    take.define(definitions);
    let mut record = AdiRecord::default();
    let mut lines = LineCounter::new(bytes);
    let mut parts = AdiParts::new(bytes, evidence.counts());
    let mut any = false;
    while let Some((at, part)) = parts.next_part() {
        match part {
            // What is before the end of the header is no contact.
            AdiPart::EndOfHeader if !any => record = AdiRecord::default(),
            AdiPart::EndOfHeader => {}
            AdiPart::EndOfRecord => {
                let (line, ended) = (lines.line_at(at), std::mem::take(&mut record));
                if let Some(raw) = ended.end(line, take.complaints()) {
                    any = true;
                    take.record(raw, parts.at)?;
                }
            }
            AdiPart::Field(field) => {
                let line = lines.line_at(at);
                record.add(line, &field, bytes, take.complaints());
            }
        }
    }
    let last = lines.line_at(bytes.len());
    record.cut(last, take.complaints());
    Ok(())
}

/// Collects what must be known of a file before its records are read.
fn look(bytes: &[u8]) -> (LengthEvidence, Vec<ExtraField>) {
    let mut parts = AdiParts::new(bytes, LengthUnit::Unknown);
    let mut definitions = Vec::new();
    while let Some((_, part)) = parts.next_part() {
        if let AdiPart::Field(field) = part
            && field.name.to_ascii_uppercase().starts_with(b"USERDEF")
            && is_header(&name_of(&field))
            && let ValueEnd::Exact(end) | ValueEnd::Wrong(end) = field.end
        {
            let text = value(bytes.get(field.start..end).unwrap_or_default());
            definitions.push(defined(&text, kind_of(&field)));
        }
    }
    (parts.ends.evidence, definitions)
}

/// A field as it stands in the file.
struct AdiField<'a> {
    name: &'a [u8],
    kind: Option<&'a [u8]>,
    /// Byte where its value begins.
    start: usize,
    end: ValueEnd,
    stated: Option<usize>,
}

fn name_of(field: &AdiField<'_>) -> String {
    value(field.name).to_uppercase()
}

fn kind_of(field: &AdiField<'_>) -> Option<String> {
    let kind = field
        .kind
        .map(|kind| value(kind.trim_ascii()).to_uppercase());
    kind.filter(|kind| is_kind(kind))
}

enum AdiPart<'a> {
    EndOfHeader,
    EndOfRecord,
    Field(AdiField<'a>),
}

/// The parts of a file, in order.
struct AdiParts<'a> {
    bytes: &'a [u8],
    at: usize,
    ends: ValueEndFinder<'a>,
}

impl<'a> AdiParts<'a> {
    fn new(bytes: &'a [u8], counts: LengthUnit) -> Self {
        Self {
            bytes,
            at: 0,
            ends: ValueEndFinder::new(bytes, counts),
        }
    }

    /// The next part, and the byte where it begins.
    fn next_part(&mut self) -> Option<(usize, AdiPart<'a>)> {
        let tag = tag::next(self.bytes, self.at)?;
        self.at = tag.end;
        if tag.is(b"EOH") {
            return Some((tag.start, AdiPart::EndOfHeader));
        }
        if tag.is(b"EOR") {
            return Some((tag.start, AdiPart::EndOfRecord));
        }
        let stated = tag.declared();
        let end = self.ends.end_of(tag.end, stated);
        let (ValueEnd::Exact(behind) | ValueEnd::Wrong(behind) | ValueEnd::Over(behind)) = end;
        self.at = behind;
        let field = AdiField {
            name: tag.name,
            kind: tag.kind,
            start: tag.end,
            end,
            stated,
        };
        Some((tag.start, AdiPart::Field(field)))
    }
}

/// A record while its fields are collected.
#[derive(Default)]
struct AdiRecord {
    raw: AdifRecord,
    /// Set if the record is put aside: line and name of the field whose length is wrong,
    /// and that length.
    aside: Option<(usize, String, usize)>,
}

impl AdiRecord {
    fn add(
        &mut self,
        line: usize,
        field: &AdiField<'_>,
        bytes: &[u8],
        complaints: &mut ReadComplaints,
    ) {
        if self.aside.is_some() {
            return;
        }
        let name = name_of(field);
        let end = match field.end {
            ValueEnd::Exact(end) => end,
            ValueEnd::Wrong(end) => {
                let reason = format!("{name}: its length is wrong; read up to the next field");
                complaints.add(line, reason);
                end
            }
            ValueEnd::Over(_) => {
                self.aside = Some((line, name, field.stated.unwrap_or_default()));
                return;
            }
        };
        if is_header(&name) {
            return;
        }
        if self.raw.fields.is_empty() {
            self.raw.line = line;
        }
        let text = value(bytes.get(field.start..end).unwrap_or_default());
        self.raw.fields.push(ExtraField {
            name,
            value: clean(&text),
            kind: kind_of(field),
            user: None,
        });
    }

    /// The record at its end; `None` if it was put aside.
    fn end(self, line: usize, complaints: &mut ReadComplaints) -> Option<AdifRecord> {
        if let Some(aside) = self.aside {
            put_aside(&aside, line, complaints);
            return None;
        }
        Some(self.raw).filter(|raw| !raw.fields.is_empty())
    }

    /// The file ends within it.
    fn cut(self, line: usize, complaints: &mut ReadComplaints) {
        if let Some(aside) = self.aside {
            put_aside(&aside, line, complaints);
        } else if !self.raw.fields.is_empty() {
            complaints.add(
                self.raw.line,
                "a record without an end (<EOR>), perhaps cut off; it was left out".to_owned(),
            );
        }
    }
}

fn put_aside((line, name, length): &(usize, String, usize), last: usize, to: &mut ReadComplaints) {
    let reason = format!(
        "{name}: its length of {length} runs past the end of a record (<EOR>), so text and contacts \
         cannot be told apart there; the record was put aside, up to line {last}. Correct the \
         length, or take <EOR> out of the text, and import again"
    );
    to.add(*line, reason);
}
