//! Contacts as CSV: a header row, then a row a contact, quoted as RFC 4180 says.

use chrono::{DateTime, Utc};
use csv::{Terminator, WriterBuilder};

use crate::{Contact, megahertz, nearest_second};

/// The header row; a column never changes its meaning, new ones come at the end.
pub const COLUMNS: [&str; 20] = [
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
];

/// Writes CSV in UTF-8: times in RFC 3339 to the nearest second, degrees with six
/// decimals, what is not known empty.
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

fn row(contact: &Contact) -> [String; 20] {
    let text = |value: &Option<String>| value.clone().unwrap_or_default();
    let time = |time: Option<DateTime<Utc>>| {
        time.map(|time| {
            nearest_second(time)
                .format("%Y-%m-%dT%H:%M:%SZ")
                .to_string()
        })
        .unwrap_or_default()
    };
    let degrees = |degrees: Option<f64>| {
        degrees
            .filter(|degrees| degrees.is_finite())
            .map(|degrees| format!("{degrees:.6}"))
            .unwrap_or_default()
    };
    let area = contact.area.clone().unwrap_or_default();
    [
        time(contact.on),
        time(contact.off),
        contact.call.clone(),
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
        area.name,
        text(&area.country),
        text(&area.state),
        text(&area.county),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(contact: Contact, expected: &str) {
        let text = write(std::slice::from_ref(&contact)).unwrap();
        let (header, row) = text.split_once("\r\n").unwrap();
        assert_eq!(header, COLUMNS.join(","));
        assert_eq!(row, format!("{expected}\r\n"));
    }

    #[test]
    fn a_row_a_contact() {
        check(
            Contact {
                call: "KB0QSE".into(),
                ..Contact::default()
            },
            ",,KB0QSE,,,,,,,,,,,,,,,,,",
        );
        check(
            Contact {
                call: "KB0QSE/M".into(),
                on: Some("2026-05-14T23:59:59.600Z".parse().unwrap()),
                hz: Some(14_287_500),
                name: Some("Ruth, \"R\"".into()),
                comment: Some("at the\npass".into()),
                lat: Some(41.5),
                lon: Some(f64::NAN),
                ..Contact::default()
            },
            "2026-05-15T00:00:00Z,,KB0QSE/M,14.2875,,,,,,\"Ruth, \"\"R\"\"\",\"at the\npass\",\
             ,,,41.500000,,,,,",
        );
    }
}
