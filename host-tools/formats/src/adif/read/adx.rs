//! Reads ADX files: the same records as XML.

use std::marker::PhantomData;

use quick_xml::events::{BytesRef, BytesStart, Event};
use quick_xml::{Reader, XmlVersion};

use super::record::{AdifRecord, RecordSink, defined, is_kind};
use crate::reading::{LineCounter, clean};
use jumpseat_entries::ExtraField;

/// Reads the fields of every record and hands each record on. Where the text is not XML,
/// that record is lost and reading continues at the next one.
pub(super) fn scan<E>(text: &str, take: &mut impl RecordSink<E>) -> Result<(), E> {
    let mut scan = AdxScanner {
        take,
        error: PhantomData,
        lines: LineCounter::new(text.as_bytes()),
        record: None,
        field: None,
        inside: 0,
    };
    let mut from = 0;
    while let Some(rest) = text.get(from..) {
        let (at, reason) = match scan.piece(rest, from) {
            Ok(()) => break,
            Err(AdxStop::Taker(error)) => return Err(error),
            Err(AdxStop::NoXml(at, reason)) => (at, reason),
        };
        scan.field = None;
        scan.record = None;
        scan.inside = 0;
        let reason = format!("this is not XML ({reason}); reading continues at the next record");
        scan.complain(at.min(text.len()), reason);
        match next_record(text, at.max(from + 1)) {
            Some(next) => from = next,
            None => break,
        }
    }
    Ok(())
}

/// Why reading stopped.
enum AdxStop<E> {
    /// The receiver of the records stopped.
    Taker(E),
    /// The text is not XML: where, and why.
    NoXml(usize, String),
}

/// Where the next record begins.
fn next_record(text: &str, from: usize) -> Option<usize> {
    let rest = text.as_bytes().get(from..)?;
    let found = rest.windows(8).position(|eight| {
        eight[..7].eq_ignore_ascii_case(b"<RECORD") && matches!(eight[7], b'>' | b' ')
    })?;
    Some(from + found)
}

struct AdxScanner<'a, T, E> {
    take: &'a mut T,
    error: PhantomData<E>,
    lines: LineCounter<'a>,
    record: Option<AdifRecord>,
    field: Option<AdxOpenField>,
    /// Records that began inside a field and did not end yet.
    inside: usize,
}

/// The field that is being read.
struct AdxOpenField {
    /// Its value grows.
    item: ExtraField,
    /// Elements inside it, which a field cannot have.
    depth: usize,
}

impl<E, T: RecordSink<E>> AdxScanner<'_, T, E> {
    /// Reads to the end, or to where the text is not XML.
    fn piece(&mut self, rest: &str, from: usize) -> Result<(), AdxStop<E>> {
        let mut reader = Reader::from_str(rest);
        // Behind a piece that was skipped, ends have lost their beginnings.
        reader.config_mut().check_end_names = false;
        reader.config_mut().allow_unmatched_ends = true;
        loop {
            // Positions lie within the text, so they fit.
            let start = from + reader.buffer_position() as usize;
            let event = reader.read_event().map_err(|error| {
                let at = from + reader.error_position() as usize;
                AdxStop::NoXml(at, error.to_string())
            })?;
            match event {
                // The parser takes `<A <B>` for one tag.
                Event::Start(tag) if tag.contains('<') => {
                    let reason = format!("<{} does not end", tag.local_name().as_ref());
                    return Err(AdxStop::NoXml(start, reason));
                }
                Event::Start(tag) => self.begin(&tag, start),
                Event::End(tag) => {
                    let behind = from + reader.buffer_position() as usize;
                    self.end(tag.local_name().as_ref(), start, behind)
                        .map_err(AdxStop::Taker)?;
                }
                Event::Text(text) => self.add(&text.xml_content(XmlVersion::Explicit1_0)),
                Event::CData(text) => self.add(&text.xml_content(XmlVersion::Explicit1_0)),
                Event::GeneralRef(reference) => match character(&reference) {
                    Some(character) => self.add(character.encode_utf8(&mut [0; 4])),
                    None => {
                        let reason = format!("&{}; is no character", &*reference);
                        return Err(AdxStop::NoXml(start, reason));
                    }
                },
                Event::Eof => {
                    self.cut();
                    return Ok(());
                }
                Event::Empty(_)
                | Event::Comment(_)
                | Event::PI(_)
                | Event::Decl(_)
                | Event::DocType(_) => {}
            }
        }
    }

    fn begin(&mut self, tag: &BytesStart<'_>, start: usize) {
        let local = tag.local_name();
        let name = local.as_ref().to_uppercase();
        if name == "RECORD" && (self.field.is_some() || self.inside > 0) {
            self.put_aside(start);
        } else if name == "RECORD" {
            self.cut();
            let line = self.lines.line_at(start);
            self.record = Some(AdifRecord {
                line,
                fields: Vec::new(),
            });
        } else if let Some(field) = &mut self.field {
            field.depth += 1;
        } else {
            self.field = field(tag, &name, self.record.is_some())
                .map(|item| AdxOpenField { item, depth: 0 });
        }
    }

    fn end(&mut self, name: &str, start: usize, behind: usize) -> Result<(), E> {
        if name.eq_ignore_ascii_case("RECORD") {
            if self.inside > 0 {
                self.inside -= 1;
                return Ok(());
            }
            if let Some(field) = self.field.take() {
                let reason = format!("{}: it has no end and was left out", field.item.name);
                self.complain(start, reason);
            }
            let record = self.record.take();
            return match record.filter(|record| !record.fields.is_empty()) {
                Some(record) => self.take.record(record, behind),
                None => Ok(()),
            };
        }
        match self.field.take() {
            Some(mut field) if field.depth > 0 => {
                field.depth -= 1;
                self.field = Some(field);
            }
            Some(mut field) => {
                field.item.value = clean(&field.item.value);
                match &mut self.record {
                    Some(record) => record.fields.push(field.item),
                    None => self.take.define(vec![definition(field.item)]),
                }
            }
            None => {}
        }
        Ok(())
    }

    /// A record inside a field may be a stranger's remark, or the end of the field may be
    /// lost. Nothing decides which, so neither this record nor the one around it is read.
    fn put_aside(&mut self, start: usize) {
        self.inside += 1;
        self.record = None;
        let Some(field) = self.field.take() else {
            return;
        };
        let reason = format!(
            "{}: a record begins inside it, so text and contacts cannot be told apart there; both \
             records were put aside. Correct the end of the field, and import again",
            field.item.name
        );
        self.complain(start, reason);
    }

    fn add(&mut self, text: &str) {
        if let Some(field) = self.field.as_mut().filter(|field| field.depth == 0) {
            field.item.value.push_str(text);
        }
    }

    /// A record ends where another begins, or the file.
    fn cut(&mut self) {
        self.field = None;
        self.inside = 0;
        if let Some(record) = self.record.take() {
            let reason = "a record without an end (</RECORD>), perhaps cut off; it was left out";
            self.take.complaints().add(record.line, reason.to_owned());
        }
    }

    fn complain(&mut self, at: usize, reason: String) {
        let line = self.lines.line_at(at);
        self.take.complaints().add(line, reason);
    }
}

/// The field that an element begins; `None` for one that holds others, and for
/// the fields of the header that say nothing of contacts.
fn field(tag: &BytesStart<'_>, name: &str, in_record: bool) -> Option<ExtraField> {
    let attribute = |wanted: &str| {
        tag.attributes()
            .filter_map(Result::ok)
            .find(|found| found.key.as_ref().eq_ignore_ascii_case(wanted))
            .and_then(|found| {
                Some(
                    found
                        .normalized_value(XmlVersion::Explicit1_0)
                        .ok()?
                        .into_owned(),
                )
            })
    };
    let kind = attribute("TYPE").map(|kind| kind.trim().to_uppercase());
    let kind = kind.filter(|kind| is_kind(kind));
    let (name, user) = match (name, in_record) {
        ("USERDEF", true) => (attribute("FIELDNAME")?, Some(String::new())),
        ("USERDEF", false) => {
            let limits = attribute("ENUM").or_else(|| attribute("RANGE"));
            (String::new(), Some(limits.unwrap_or_default()))
        }
        ("APP", true) => {
            let (program, field) = (attribute("PROGRAMID")?, attribute("FIELDNAME")?);
            (format!("APP_{}_{}", program.trim(), field.trim()), None)
        }
        (_, true) => (name.to_owned(), None),
        (_, false) => return None,
    };
    Some(ExtraField {
        name: name.trim().to_uppercase(),
        value: String::new(),
        kind,
        user,
    })
}

/// In a header the element's text is the name.
fn definition(item: ExtraField) -> ExtraField {
    let mut read = defined(&item.value, item.kind);
    read.user = item.user.map(|limits| limits.split_whitespace().collect());
    read
}

/// The characters that XML predefines, and those given by number.
fn character(reference: &BytesRef<'_>) -> Option<char> {
    match &**reference {
        "amp" => Some('&'),
        "lt" => Some('<'),
        "gt" => Some('>'),
        "quot" => Some('"'),
        "apos" => Some('\''),
        _ => reference.resolve_char_ref().ok()?,
    }
}
