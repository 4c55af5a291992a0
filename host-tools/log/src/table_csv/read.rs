//! Reads the tables that we write, also after a spreadsheet had them.

use chrono::{DateTime, NaiveDateTime, Utc};
use csv::{Position, ReaderBuilder, StringRecord};

use super::as_it_was;
use crate::reading::{Complaints, Lines, Reading, Told, text};
use crate::{Area, Contact};

/// Reads a table whose header row has our names, in any order; other columns are
/// left out and named. `None` where the first row has no `call` and `start_utc`.
pub fn read(bytes: &[u8]) -> Option<Reading> {
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
    let names = reader.headers().ok()?.clone();
    let at = |name: &str| names.iter().position(|found| found.trim() == name);
    at("call").zip(at("start_utc"))?;
    let mut reading = Reading::default();
    for name in names.iter().map(str::trim) {
        if !name.is_empty() && !super::COLUMNS.contains(&name) {
            let shown: String = name.chars().take(40).collect();
            reading
                .complaints
                .add(1, format!("column '{shown}' is not known; it was left out"));
        }
    }
    let mut lines = Lines::new(text.as_bytes());
    // A row's position is before the empty lines above it.
    let mut line_of = |position: Option<&Position>| {
        let at = position.map_or(0, |position| position.byte() as usize);
        let behind = text.get(at..).unwrap_or_default();
        lines.of(at + behind.len() - behind.trim_start_matches(['\r', '\n']).len())
    };
    for row in reader.records() {
        match row {
            Ok(row) => {
                let line = line_of(row.position());
                let mut cells = Cells {
                    names: &names,
                    row: &row,
                    line,
                    complaints: &mut reading.complaints,
                };
                if let Some(contact) = cells.contact() {
                    reading.records.push(Told { line, contact });
                }
            }
            Err(error) => {
                let line = line_of(error.position());
                reading
                    .complaints
                    .add(line, format!("this row cannot be read: {error}"));
            }
        }
    }
    Some(reading)
}

struct Cells<'a> {
    names: &'a StringRecord,
    row: &'a StringRecord,
    line: usize,
    complaints: &'a mut Complaints,
}

impl Cells<'_> {
    fn contact(&mut self) -> Option<Contact> {
        let Some(call) = self.cell("call") else {
            let reason = "a row without a call sign; it was left out";
            self.complaints.add(self.line, reason.to_owned());
            return None;
        };
        let on = self.read("start_utc", time);
        let off = self.read("end_utc", time);
        if on.is_none() {
            let reason = "its date and time are not known, so that it cannot be exported";
            self.complaints.add(self.line, reason.to_owned());
        }
        let whole = on.is_some_and(|(_, whole)| whole) && off.is_none_or(|(_, whole)| whole);
        Some(Contact {
            call: call.to_uppercase(),
            on: on.map(|(on, _)| on),
            off: off.map(|(off, _)| off),
            whole_minutes: whole,
            hz: self.read("frequency_mhz", crate::adif::hertz),
            hz_rx: self.read("receive_frequency_mhz", crate::adif::hertz),
            band: self.cell("band"),
            mode: self.cell("mode"),
            submode: self.cell("submode"),
            sent: self.cell("report_sent"),
            received: self.cell("report_received"),
            name: self.cell("name"),
            qth: self.cell("qth"),
            their_locator: self.cell("their_locator"),
            sig: self.cell("sig"),
            sig_info: self.cell("sig_info"),
            comment: self.cell("comment"),
            station: self.cell("station"),
            operator: self.cell("operator"),
            locator: self.cell("locator"),
            lat: self.degrees("latitude", 90.0),
            lon: self.degrees("longitude", 180.0),
            area: self.area(),
            area_off: self.cell("area_end").map(|name| Area {
                short: name.clone(),
                name,
                ..Area::default()
            }),
            my_sig: self.cell("my_sig"),
            my_sig_info: self.cell("my_sig_info"),
            more: Vec::new(),
        })
    }

    fn cell(&self, name: &str) -> Option<String> {
        let at = self.names.iter().position(|found| found.trim() == name)?;
        let text = as_it_was(self.row.get(at)?).trim();
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

    fn area(&mut self) -> Option<Area> {
        let dxcc = self.read("dxcc", |text| text.parse().ok());
        let (country, state) = (self.cell("country"), self.cell("state"));
        let county = self.cell("county");
        let name = self.cell("area").or_else(|| {
            let words = [&county, &state, &country];
            words.into_iter().flatten().next().cloned()
        });
        let name = name.or_else(|| dxcc.map(|number| format!("entity {number}")))?;
        Some(Area {
            short: name.clone(),
            name,
            dxcc,
            country,
            state,
            county,
        })
    }
}

/// A time, and whether only its minute is known.
fn time(text: &str) -> Option<(DateTime<Utc>, bool)> {
    if let Ok(time) = DateTime::parse_from_rfc3339(text) {
        return Some((time.to_utc(), false));
    }
    let minute = NaiveDateTime::parse_from_str(text, "%Y-%m-%dT%H:%MZ").ok()?;
    Some((minute.and_utc(), true))
}
