//! Writes ADX files: the same records as XML, in which any character can stand.

use chrono::{DateTime, Utc};

use super::field::{day, time_of_day};
use super::record::AdifField;
use super::spec::{self, AdifTextKind};
use super::text::fitting;
use super::{ADIF_VERSION, AdifFile, record, user_fields};
use crate::xml::XmlWriter;
use jumpseat_entries::Contact;

/// Writes an ADX file, with the same rules as [`write`](super::write()) and
/// without loss where the specification has a field for it: beside the ASCII form
/// of a name or a remark stands the text as it was.
pub fn write(
    contacts: &[Contact],
    program: &str,
    version: &str,
    created: DateTime<Utc>,
) -> AdifFile {
    let mut xml = XmlWriter::new();
    xml.begin("ADX", &[]);
    xml.begin("HEADER", &[]);
    xml.leaf("ADIF_VER", ADIF_VERSION);
    let stamp = format!("{} {}", day(created), time_of_day(created));
    xml.leaf("CREATED_TIMESTAMP", &stamp);
    xml.leaf("PROGRAMID", program);
    xml.leaf("PROGRAMVERSION", version);
    for (number, field) in (1_usize..).zip(user_fields::definitions(contacts, true)) {
        let number = number.to_string();
        let mut attributes = vec![("FIELDID", number.as_str())];
        attributes.extend(field.kind.as_deref().map(|kind| ("TYPE", kind)));
        let limits = field.user.as_deref().filter(|limits| !limits.is_empty());
        let word = |limits: &str| {
            if limits.contains(':') {
                "RANGE"
            } else {
                "ENUM"
            }
        };
        attributes.extend(limits.map(|limits| (word(limits), limits)));
        xml.leaf_with("USERDEF", &attributes, &field.name);
    }
    xml.end();
    xml.begin("RECORDS", &[]);
    let mut doubts = Vec::new();
    for (index, contact) in contacts.iter().enumerate() {
        match record::fields(contact) {
            Ok(fields) => {
                xml.begin("RECORD", &[]);
                for field in &fields {
                    let doubt = put(&mut xml, field, &fields);
                    doubts.extend(doubt.map(|doubt| (index, doubt)));
                }
                xml.end();
            }
            Err(reason) => doubts.push((index, format!("left out: {reason}"))),
        }
    }
    AdifFile {
        text: xml.finish(),
        doubts,
    }
}

/// Writes a field. Returns a doubt if something of it is lost.
fn put(xml: &mut XmlWriter, field: &AdifField, all: &[AdifField]) -> Option<String> {
    let AdifField { name, value, .. } = field;
    if matches!(field.holds, AdifTextKind::Intl | AdifTextKind::IntlLines) {
        element(xml, field, value);
        return None;
    }
    let (written, same) = fitting(value, field.holds);
    if !written.is_empty() {
        element(xml, field, &written);
    }
    if same {
        return None;
    }
    let international = format!("{name}_INTL");
    let known = spec::holds(&international).is_some();
    if known && !all.iter().any(|other| other.name == international) {
        xml.leaf(&international, value);
    }
    if known {
        return None;
    }
    Some(format!(
        "{name}: '{value}' is written as '{written}', because this field holds ASCII only"
    ))
}

/// A field of the specification is an element of that name; other fields have their name
/// in an attribute.
fn element(xml: &mut XmlWriter, field: &AdifField, value: &str) {
    let name = field.name.as_str();
    let kind = field.kind.as_deref().map(|kind| ("TYPE", kind));
    if field.user {
        xml.leaf_with("USERDEF", &[("FIELDNAME", name)], value);
        return;
    }
    match name
        .strip_prefix("APP_")
        .and_then(|rest| rest.split_once('_'))
    {
        Some((program, field)) => {
            let mut attributes = vec![("PROGRAMID", program), ("FIELDNAME", field)];
            attributes.extend(kind);
            xml.leaf_with("APP", &attributes, value);
        }
        None => xml.leaf(name, value),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jumpseat_entries::AdministrativeArea;

    #[track_caller]
    fn check(contact: &Contact, records: &str, doubts: &[&str]) {
        let created = "2026-05-14T15:02:11Z".parse().unwrap();
        let adx = write(std::slice::from_ref(contact), "P & Q", "1", created);
        let flat: String = adx.text.lines().map(str::trim).collect();
        assert_eq!(
            flat,
            format!(
                "<?xml version=\"1.0\" encoding=\"UTF-8\"?><ADX><HEADER>\
                 <ADIF_VER>3.1.6</ADIF_VER><CREATED_TIMESTAMP>20260514 150211</CREATED_TIMESTAMP>\
                 <PROGRAMID>P &amp; Q</PROGRAMID><PROGRAMVERSION>1</PROGRAMVERSION></HEADER>\
                 <RECORDS>{records}</RECORDS></ADX>"
            )
        );
        let found: Vec<&str> = adx.doubts.iter().map(|(_, doubt)| doubt.as_str()).collect();
        assert_eq!(found, doubts);
    }

    const WHEN: &str = "<RECORD><QSO_DATE>20260514</QSO_DATE><TIME_ON>150427</TIME_ON>\
                        <CALL>KB0QSE</CALL>";

    fn contact() -> Contact {
        Contact {
            call: "KB0QSE".into(),
            on: Some("2026-05-14T15:04:27.400Z".parse().unwrap()),
            ..Contact::default()
        }
    }

    #[test]
    fn records_are_elements() {
        check(&Contact::default(), "", &["left out: it has no call sign"]);
        check(&contact(), &format!("{WHEN}</RECORD>"), &[]);
        let named = Contact {
            name: Some("José <&>".into()),
            operator: Some("W7QTMé".into()),
            ..contact()
        };
        check(
            &named,
            &format!(
                "{WHEN}<NAME>Jose &lt;&amp;&gt;</NAME><NAME_INTL>José &lt;&amp;&gt;</NAME_INTL>\
                 <OPERATOR>W7QTMe</OPERATOR></RECORD>"
            ),
            &["OPERATOR: 'W7QTMé' is written as 'W7QTMe', because this field holds ASCII only"],
        );
    }

    #[test]
    fn the_own_area_in_the_words_of_the_specification() {
        let placed = Contact {
            area: Some(AdministrativeArea {
                name: "Sweetwater County, Wyoming".into(),
                short: "Sweetwater, WY".into(),
                dxcc: Some(291),
                country: Some("UNITED STATES OF AMERICA".into()),
                state: Some("WY".into()),
                county: Some("WY,Sweetwater".into()),
            }),
            ..contact()
        };
        check(
            &placed,
            &format!(
                "{WHEN}<MY_DXCC>291</MY_DXCC><MY_COUNTRY>UNITED STATES OF AMERICA</MY_COUNTRY>\
                 <MY_STATE>WY</MY_STATE><MY_CNTY>WY,Sweetwater</MY_CNTY></RECORD>"
            ),
            &[],
        );
    }
}
