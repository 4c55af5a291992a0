//! Reads the tables that we write, also after a spreadsheet saved them.

use chrono::{DateTime, NaiveDateTime, Utc};
use csv::{Position, ReaderBuilder, StringRecord};
use jumpseat_entries::fields::{FIELDS, FieldDefinition, FieldKind, in_csv_order};
use jumpseat_entries::{AdministrativeArea, Contact, ContactField};
use jumpseat_values::display::hertz;

use super::as_it_was;
use crate::reading::{LineCounter, LogFileReading, ReadComplaints, ReadContact, collect, text};

/// Reads a table whose header row has our names, in any order; other columns are
/// left out and named. `None` where the first row has no `call` and `start_utc`.
pub fn read(bytes: &[u8]) -> Option<LogFileReading> {
    let mut ours = true;
    let reading = collect(|take| {
        let read = read_each(bytes, take)?;
        ours = read.is_some();
        Ok(read.unwrap_or_default())
    });
    ours.then_some(reading)
}

/// Reads a table as [`read`] does and hands each contact on, with the byte behind its
/// row (of the table in UTF-8), so that not all of them lie in memory; gives what could
/// not be read.
///
/// # Errors
/// What `take` returns; then nothing more is read.
pub fn read_each<E>(
    bytes: &[u8],
    mut take: impl FnMut(ReadContact, usize) -> Result<(), E>,
) -> Result<Option<ReadComplaints>, E> {
    let text = text(bytes);
    // Spreadsheets in some countries write semicolons.
    let head = text.lines().next().unwrap_or_default();
    let delimiter = if head.contains(';') && !head.contains(',') {
        b';'
    } else {
        b','
    };
    let mut reader = ReaderBuilder::new()
        .delimiter(delimiter)
        .flexible(true)
        .from_reader(text.as_bytes());
    let Some(names) = reader.headers().ok().cloned() else {
        return Ok(None);
    };
    let columns = CsvColumns::of(&names);
    if columns.at("call").zip(columns.at("start_utc")).is_none() {
        return Ok(None);
    }
    let mut complaints = ReadComplaints::default();
    for name in names.iter().map(str::trim) {
        if !name.is_empty() && !in_csv_order().iter().any(|known| known.csv.name == name) {
            let shown: String = name.chars().take(40).collect();
            complaints.add(1, format!("column '{shown}' is not known; it was left out"));
        }
    }
    let mut lines = LineCounter::new(text.as_bytes());
    // A row's position is before the empty lines above it.
    let mut line_of = |position: Option<&Position>| {
        let at = position.map_or(0, |position| position.byte() as usize);
        let behind = text.get(at..).unwrap_or_default();
        let empty = behind
            .bytes()
            .take_while(|byte| matches!(byte, b'\r' | b'\n'));
        lines.line_at(at + empty.count())
    };
    let mut row = StringRecord::new();
    loop {
        match reader.read_record(&mut row) {
            Ok(false) => break,
            Ok(true) => {
                let line = line_of(row.position());
                if let Some(reason) = suspicious(&row, &names) {
                    complaints.add(line, reason);
                    continue;
                }
                let mut cells = CsvRow {
                    columns: &columns,
                    row: &row,
                    line,
                    complaints: &mut complaints,
                };
                if let Some(contact) = cells.contact() {
                    take(
                        ReadContact { line, contact },
                        reader.position().byte() as usize,
                    )?;
                }
            }
            Err(error) => {
                let line = line_of(error.position());
                complaints.add(line, format!("this row cannot be read: {error}"));
            }
        }
    }
    complaints.sort();
    Ok(Some(complaints))
}

/// Why a row cannot be trusted: its cells may stand in the wrong columns, or several rows
/// in one cell.
fn suspicious(row: &StringRecord, names: &StringRecord) -> Option<String> {
    let (cells, columns) = (row.len(), names.len());
    if row.iter().skip(columns).any(|cell| !cell.trim().is_empty()) {
        return Some(format!(
            "it has {cells} cells for {columns} columns, perhaps because quotation marks are missing; \
             the row was put aside"
        ));
    }
    let last = row.get(cells.checked_sub(1)?).unwrap_or_default();
    (cells < columns && last.contains('\n')).then(|| {
        format!(
            "a quotation mark is not closed, so the row runs on for {} lines; all of it was put \
             aside",
            last.lines().count()
        )
    })
}

/// Where each of our columns stands.
struct CsvColumns(Vec<(&'static str, usize)>);

impl CsvColumns {
    fn of(names: &StringRecord) -> Self {
        let at = |name: &'static str| {
            let at = names.iter().position(|found| found.trim() == name)?;
            Some((name, at))
        };
        let known = in_csv_order().iter().map(|definition| definition.csv.name);
        Self(known.filter_map(at).collect())
    }

    fn at(&self, name: &str) -> Option<usize> {
        let found = self.0.iter().find(|(known, _)| *known == name)?;
        Some(found.1)
    }
}

struct CsvRow<'a> {
    columns: &'a CsvColumns,
    row: &'a StringRecord,
    line: usize,
    complaints: &'a mut ReadComplaints,
}

impl CsvRow<'_> {
    fn contact(&mut self) -> Option<Contact> {
        let Some(call) = self.cell(ContactField::Call.definition().csv.name) else {
            let reason = "a row without a call sign; it was left out";
            self.complaints.add(self.line, reason.to_owned());
            return None;
        };
        let on = self.read(ContactField::On.definition().csv.name, time);
        let off = self.read(ContactField::Off.definition().csv.name, time);
        if on.is_none() {
            let reason = "its date and time are not known, so it cannot be exported";
            self.complaints.add(self.line, reason.to_owned());
        }
        let whole = on.is_some_and(|(_, whole)| whole) && off.is_none_or(|(_, whole)| whole);
        let mut contact = Contact {
            on: on.map(|(on, _)| on),
            off: off.map(|(off, _)| off),
            whole_minutes: whole,
            ..Contact::default()
        };
        for definition in &FIELDS {
            self.fill(definition, &mut contact);
        }
        contact.call = call.to_uppercase();
        if let Some(area) = contact.area.as_mut().filter(|area| area.name.is_empty()) {
            area.name = area_name(area);
            area.short.clone_from(&area.name);
        }
        Some(contact)
    }

    /// Fills one field of a contact. Times are read together.
    fn fill(&mut self, definition: &FieldDefinition, contact: &mut Contact) {
        let name = definition.csv.name;
        match &definition.kind {
            FieldKind::CallSign(member)
            | FieldKind::Report(member)
            | FieldKind::Text(member)
            | FieldKind::Locator(member)
            | FieldKind::Band(member)
            | FieldKind::Mode(member)
            | FieldKind::Submode(member) => (member.set)(contact, self.cell(name)),
            FieldKind::Time(_) => {}
            FieldKind::Frequency(member) => (member.set)(contact, self.read(name, hertz)),
            FieldKind::Degrees { member, limit, .. } => {
                (member.set)(contact, self.degrees(name, f64::from(*limit)));
            }
            FieldKind::EnumerationNumber(member) => {
                (member.set)(contact, self.read(name, |text| text.parse().ok()));
            }
        }
    }

    fn cell(&self, name: &str) -> Option<String> {
        let text = as_it_was(self.row.get(self.columns.at(name)?)?).trim();
        (!text.is_empty()).then(|| text.to_owned())
    }

    fn read<T>(&mut self, name: &str, reads: impl FnOnce(&str) -> Option<T>) -> Option<T> {
        let text = self.cell(name)?;
        let read = reads(&text);
        if read.is_none() {
            let shown: String = text.chars().take(40).collect();
            let reason = format!("{name}: '{shown}' cannot be understood; it was left empty");
            self.complaints.add(self.line, reason);
        }
        read
    }

    fn degrees(&mut self, name: &str, most: f64) -> Option<f64> {
        self.read(name, |text| {
            let degrees: f64 = text.parse().ok()?;
            (degrees.abs() <= most).then_some(degrees)
        })
    }
}

/// A name for an area without one: the smallest of its parts.
fn area_name(area: &AdministrativeArea) -> String {
    let words = [&area.county, &area.state, &area.country];
    let word = words.into_iter().flatten().next().cloned();
    word.unwrap_or_else(|| format!("entity {}", area.dxcc.unwrap_or_default()))
}

/// A time, and whether only its minute is known.
fn time(text: &str) -> Option<(DateTime<Utc>, bool)> {
    if let Ok(time) = DateTime::parse_from_rfc3339(text) {
        return Some((time.to_utc(), false));
    }
    let minute = NaiveDateTime::parse_from_str(text, "%Y-%m-%dT%H:%MZ").ok()?;
    Some((minute.and_utc(), true))
}
