//! ADIF, version 3.1.6, as an ADI file (adif.org, "ADIF Specification 3.1.6").
//!
//! An ADI file's text is ASCII, 32 to 126: the fields for other characters
//! (`NAME_INTL` and the like) are for ADX files only. Text with other characters
//! is written in its nearest ASCII form ('José' becomes 'Jose'), with a doubt for the
//! caller. In ASCII a field's length in characters is its length in bytes. What is not
//! known is left out, never guessed.

mod adx;
mod difference;
mod field;
mod modes;
mod read;
mod record;
mod spec;
mod text;
mod user_fields;

use chrono::{DateTime, Utc};

use field::{day, push, time_of_day};
use jumpseat_entries::Contact;
use text::{ascii, fitting, without_ends};

pub use adx::write as write_adx;
pub use difference::{FieldDifference, differences};
pub use read::{read, read_each};
pub use record::{NotExportable, exportable};

/// The version of the specification that is stated in files.
pub const ADIF_VERSION: &str = "3.1.6";

/// The text of a file, and doubts about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AdifFile {
    /// ASCII in an ADI file, UTF-8 in an ADX file.
    pub text: String,
    /// Index of a contact among those given, and a doubt about its record.
    pub doubts: Vec<(usize, String)>,
}

/// Writes an ADI file. Contacts that are not [`exportable`] are left out with a
/// doubt. `program` and `version` name the program, `created` the moment.
pub fn write(
    contacts: &[Contact],
    program: &str,
    version: &str,
    created: DateTime<Utc>,
) -> AdifFile {
    let mut text = String::from("Contacts in the ADI format, for import into a station log.\n");
    push(&mut text, "ADIF_VER", None, ADIF_VERSION);
    let stamp = format!("{} {}", day(created), time_of_day(created));
    push(&mut text, "CREATED_TIMESTAMP", None, &stamp);
    push(&mut text, "PROGRAMID", None, program);
    push(&mut text, "PROGRAMVERSION", None, version);
    for (number, field) in (1..).zip(user_fields::definitions(contacts, false)) {
        let limits = field.user.as_deref().filter(|limits| !limits.is_empty());
        let limits = limits
            .map(|limits| format!(",{limits}"))
            .unwrap_or_default();
        let kind = field.kind.as_deref().map(in_ascii);
        let (named, _) = ascii(&format!("{}{limits}", field.name));
        push(&mut text, &format!("USERDEF{number}"), kind, &named);
    }
    text.push_str("<EOH>\n");
    let mut doubts = Vec::new();
    for (index, contact) in contacts.iter().enumerate() {
        match record(contact) {
            Ok((record, about)) => {
                text.push_str(&record);
                doubts.extend(about.into_iter().map(|doubt| (index, doubt)));
            }
            Err(reason) => doubts.push((index, format!("left out: {reason}"))),
        }
    }
    AdifFile { text, doubts }
}

/// One record with its end, and doubts about what was changed to fit.
fn record(contact: &Contact) -> Result<(String, Vec<String>), NotExportable> {
    let mut record = String::new();
    let mut doubts = Vec::new();
    let fields = record::fields(contact)?;
    for field in &fields {
        let known = spec::holds(&field.name).is_some();
        let name = match field.name.strip_suffix("_INTL").filter(|_| known) {
            // Only ADX files may have it; its ASCII form stands in the plain field.
            Some(plain) if fields.iter().any(|other| other.name == plain) => continue,
            Some(plain) => plain,
            None => &field.name,
        };
        let value = &field.value;
        let (written, same) = fitting(value, field.holds);
        if !same {
            doubts.push(format!(
                "{name}: '{value}' is written as '{written}', because ADI files hold ASCII only"
            ));
        }
        let (written, same) = without_ends(&written);
        if !same {
            doubts.push(format!(
                "{name}: '{value}' is written as '{written}', so that no reader ends the record there"
            ));
        }
        let kind = field.kind.as_deref().map(in_ascii);
        push(&mut record, name, kind, &written.replace('\n', "\r\n"));
    }
    record.push_str("<EOR>\n");
    Ok((record, doubts))
}

/// The data type indicator of a field in an ADI file, where text is ASCII.
fn in_ascii(kind: &str) -> &str {
    match kind {
        "I" => "S",
        "G" => "M",
        kind => kind,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn utc(text: &str) -> DateTime<Utc> {
        text.parse().unwrap()
    }

    fn contact() -> Contact {
        Contact {
            call: "KB0QSE".into(),
            on: Some(utc("2026-05-14T23:59:58.400Z")),
            off: Some(utc("2026-05-15T00:01:12.900Z")),
            ..Contact::default()
        }
    }

    #[track_caller]
    fn check(contact: &Contact, expected: &str, doubts: &[&str]) {
        let adi = write(
            std::slice::from_ref(contact),
            "P",
            "1",
            utc("2026-05-14T15:02:11Z"),
        );
        let (header, records) = adi.text.split_once("<EOH>\n").unwrap();
        assert_eq!(
            header.lines().nth(1).unwrap(),
            "<ADIF_VER:5>3.1.6 <CREATED_TIMESTAMP:15>20260514 150211 \
             <PROGRAMID:1>P <PROGRAMVERSION:1>1 "
        );
        assert!(!header.starts_with('<'));
        assert_eq!(records, expected);
        let found: Vec<&str> = adi.doubts.iter().map(|(_, doubt)| doubt.as_str()).collect();
        assert_eq!(found, doubts);
        assert!(adi.text.is_ascii());
    }

    const WHEN: &str = "<QSO_DATE:8>20260514 <TIME_ON:6>235958 \
                        <QSO_DATE_OFF:8>20260515 <TIME_OFF:6>000113 ";

    #[test]
    fn what_is_not_known_is_left_out() {
        check(&contact(), &format!("{WHEN}<CALL:6>KB0QSE <EOR>\n"), &[]);
        let empty = Contact {
            sent: Some(" ".into()),
            ..contact()
        };
        check(&empty, &format!("{WHEN}<CALL:6>KB0QSE <EOR>\n"), &[]);
    }

    #[test]
    fn every_field_has_its_form() {
        let full = Contact {
            hz: Some(14_287_500),
            band: Some("20m".into()),
            mode: Some("SSB".into()),
            submode: Some("USB".into()),
            sent: Some("59".into()),
            received: Some("57".into()),
            name: Some("Ruth".into()),
            comment: Some("at the pass".into()),
            station: Some("W7QTM/M".into()),
            operator: Some("W7QTM".into()),
            locator: Some("DN81ab12cd".into()),
            lat: Some(41.5438),
            lon: Some(-109.7101),
            ..contact()
        };
        check(
            &full,
            &format!(
                "{WHEN}<CALL:6>KB0QSE <FREQ:7>14.2875 <BAND:3>20m <MODE:3>SSB <SUBMODE:3>USB \
                 <RST_SENT:2>59 <RST_RCVD:2>57 <NAME:4>Ruth <MY_GRIDSQUARE:8>DN81ab12 \
                 <MY_GRIDSQUARE_EXT:2>cd <COMMENT:11>at the pass <STATION_CALLSIGN:7>W7QTM/M \
                 <OPERATOR:5>W7QTM <MY_LAT:11>N041 32.628 <MY_LON:11>W109 42.606 <EOR>\n"
            ),
            &[],
        );
    }

    #[test]
    fn other_characters_become_ascii_with_a_doubt() {
        let name = |name: &str| Contact {
            name: Some(name.into()),
            ..contact()
        };
        check(
            &name("José"),
            &format!("{WHEN}<CALL:6>KB0QSE <NAME:4>Jose <EOR>\n"),
            &["NAME: 'José' is written as 'Jose', because ADI files hold ASCII only"],
        );
        // A line break would end the field's line; no reader needs to see it.
        check(
            &name("Ruth\nand <Bob>"),
            &format!("{WHEN}<CALL:6>KB0QSE <NAME:14>Ruth and <Bob> <EOR>\n"),
            &[
                "NAME: 'Ruth\nand <Bob>' is written as 'Ruth and <Bob>', because ADI files hold ASCII only",
            ],
        );
    }

    #[test]
    fn no_record_without_call_sign_or_time() {
        let blank = Contact {
            call: "  ".into(),
            ..contact()
        };
        check(&blank, "", &["left out: it has no call sign"]);
        let timeless = Contact {
            on: None,
            ..contact()
        };
        check(&timeless, "", &["left out: its time is not known"]);
    }
}
