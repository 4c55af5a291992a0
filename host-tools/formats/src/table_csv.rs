//! Contacts as CSV: a header row, then a row a contact, quoted as RFC 4180 says.
//!
//! A spreadsheet takes a cell that begins with `=`, `+`, `-` or `@` for a formula,
//! and what a stranger said on the air may be in one. Such a text stands behind
//! an apostrophe, which [`read`] takes away again. Numbers of ours stay numbers.

mod read;
#[cfg(test)]
mod tests;

use chrono::{DateTime, Utc};
use csv::{Terminator, WriterBuilder};

use jumpseat_entries::Contact;
use jumpseat_values::display::{megahertz, nearest_second};

pub use read::{read, read_each};

/// The header row; a column never changes its meaning, new ones come at the end.
pub const COLUMNS: [&str; 29] = [
    "start_utc",
    "end_utc",
    "call",
    "frequency_mhz",
    "band",
    "mode",
    "submode",
    "report_sent",
    "report_received",
    "name",
    "comment",
    "station",
    "operator",
    "locator",
    "latitude",
    "longitude",
    "area",
    "country",
    "state",
    "county",
    "receive_frequency_mhz",
    "qth",
    "their_locator",
    "sig",
    "sig_info",
    "my_sig",
    "my_sig_info",
    "area_end",
    "dxcc",
];

/// Writes CSV in UTF-8: times in RFC 3339 to the nearest second, without seconds
/// where only the minute is known; degrees with six decimals; what is not known
/// empty.
pub fn write(contacts: &[Contact]) -> Result<String, csv::Error> {
    let mut writer = WriterBuilder::new()
        .terminator(Terminator::CRLF)
        .from_writer(Vec::new());
    writer.write_record(COLUMNS)?;
    for contact in contacts {
        writer.write_record(row(contact))?;
    }
    let bytes = writer
        .into_inner()
        .map_err(|error| csv::Error::from(error.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

fn row(contact: &Contact) -> [String; 29] {
    let text = |value: &Option<String>| harmless(value.as_deref().unwrap_or_default());
    let form = if contact.whole_minutes {
        "%Y-%m-%dT%H:%MZ"
    } else {
        "%Y-%m-%dT%H:%M:%SZ"
    };
    let time = |time: Option<DateTime<Utc>>| {
        time.map(|time| nearest_second(time).format(form).to_string())
            .unwrap_or_default()
    };
    let degrees = |degrees: Option<f64>| {
        degrees
            .filter(|degrees| degrees.is_finite())
            .map(|degrees| format!("{degrees:.6}"))
            .unwrap_or_default()
    };
    let area = contact.area.clone().unwrap_or_default();
    let ended = contact.area_off.clone().unwrap_or_default();
    [
        time(contact.on),
        time(contact.off),
        harmless(&contact.call),
        contact.hz.map(megahertz).unwrap_or_default(),
        text(&contact.band),
        text(&contact.mode),
        text(&contact.submode),
        text(&contact.sent),
        text(&contact.received),
        text(&contact.name),
        text(&contact.comment),
        text(&contact.station),
        text(&contact.operator),
        text(&contact.locator),
        degrees(contact.lat),
        degrees(contact.lon),
        harmless(&area.name),
        text(&area.country),
        text(&area.state),
        text(&area.county),
        contact.hz_rx.map(megahertz).unwrap_or_default(),
        text(&contact.qth),
        text(&contact.their_locator),
        text(&contact.sig),
        text(&contact.sig_info),
        text(&contact.my_sig),
        text(&contact.my_sig_info),
        harmless(&ended.name),
        area.dxcc
            .map(|number| number.to_string())
            .unwrap_or_default(),
    ]
}

/// What a spreadsheet may take for the beginning of a formula; tabs and returns
/// before one are skipped by some.
const FORMULA_STARTS: [char; 6] = ['=', '+', '-', '@', '\t', '\r'];

/// An apostrophe before what would be a formula, and before what would be read
/// as such a text with its apostrophe.
fn harmless(text: &str) -> String {
    if text.trim_start_matches('\'').starts_with(FORMULA_STARTS) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

/// The text as it was.
fn as_it_was(text: &str) -> &str {
    text.strip_prefix('\'')
        .filter(|_| text.trim_start_matches('\'').starts_with(FORMULA_STARTS))
        .unwrap_or(text)
}
