//! Contacts as CSV: a header row, then one row for each contact, quoted as in RFC 4180.
//!
//! A spreadsheet takes a cell that begins with `=`, `+`, `-` or `@` for a formula, and a
//! cell may hold what a stranger said on the air. Such a text gets an apostrophe before
//! it, which [`read`] removes again. Numbers stay numbers.

mod read;
#[cfg(test)]
mod tests;

use csv::{Terminator, WriterBuilder};
use jumpseat_entries::Contact;
use jumpseat_entries::fields::{FieldKind, in_csv_order};
use jumpseat_values::display::{megahertz, nearest_second};

pub use read::{read, read_each};

/// Writes CSV in UTF-8: times in RFC 3339 to the nearest second, without seconds
/// where only the minute is known; degrees with six decimals; what is not known
/// empty.
pub fn write(contacts: &[Contact]) -> Result<String, csv::Error> {
    let mut writer = WriterBuilder::new()
        .terminator(Terminator::CRLF)
        .from_writer(Vec::new());
    writer.write_record(in_csv_order().iter().map(|definition| definition.csv.name))?;
    for contact in contacts {
        writer.write_record(row(contact))?;
    }
    let bytes = writer
        .into_inner()
        .map_err(|error| csv::Error::from(error.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

fn row(contact: &Contact) -> Vec<String> {
    let cells = in_csv_order().iter();
    cells
        .map(|definition| cell(&definition.kind, contact).unwrap_or_default())
        .collect()
}

fn cell(kind: &FieldKind, contact: &Contact) -> Option<String> {
    match kind {
        FieldKind::CallSign(member)
        | FieldKind::Report(member)
        | FieldKind::Text(member)
        | FieldKind::Locator(member)
        | FieldKind::Band(member)
        | FieldKind::Mode(member)
        | FieldKind::Submode(member) => (member.get)(contact).map(|text| harmless(&text)),
        FieldKind::Time(member) => {
            let form = if contact.whole_minutes {
                "%Y-%m-%dT%H:%MZ"
            } else {
                "%Y-%m-%dT%H:%M:%SZ"
            };
            let time = (member.get)(contact)?;
            Some(nearest_second(time).format(form).to_string())
        }
        FieldKind::Frequency(member) => (member.get)(contact).map(megahertz),
        FieldKind::Degrees { member, .. } => (member.get)(contact)
            .filter(|degrees| degrees.is_finite())
            .map(|degrees| format!("{degrees:.6}")),
        FieldKind::EnumerationNumber(member) => {
            (member.get)(contact).map(|number| number.to_string())
        }
    }
}

/// What a spreadsheet may take for the beginning of a formula. Some skip tabs and returns
/// before it.
const FORMULA_STARTS: [char; 6] = ['=', '+', '-', '@', '\t', '\r'];

/// Puts an apostrophe before what a spreadsheet would take for a formula, and before what
/// would be read back as such a text.
fn harmless(text: &str) -> String {
    if text.trim_start_matches('\'').starts_with(FORMULA_STARTS) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}

/// The text without the apostrophe of [`harmless`].
fn as_it_was(text: &str) -> &str {
    text.strip_prefix('\'')
        .filter(|_| text.trim_start_matches('\'').starts_with(FORMULA_STARTS))
        .unwrap_or(text)
}
