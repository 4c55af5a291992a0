//! Every field of the table stands in every format, and reads back.

use chrono::DateTime;
use jumpseat_entries::fields::{FIELDS, FieldDefinition, FieldKind};
use jumpseat_entries::{Contact, ContactField};
use jumpseat_formats::{adif, table_csv};

/// A contact that can stand in a file, with one field more.
fn contact_with(definition: &FieldDefinition) -> Contact {
    let mut contact = Contact {
        call: "W7QTM".into(),
        on: DateTime::from_timestamp(1_778_771_068, 0),
        hz: Some(7_200_000),
        mode: Some("SSB".into()),
        ..Contact::default()
    };
    let contact_now = &mut contact;
    match &definition.kind {
        FieldKind::CallSign(member) => (member.set)(contact_now, Some("KB0QSE".into())),
        FieldKind::Report(member) => (member.set)(contact_now, Some("57".into())),
        FieldKind::Text(member) => (member.set)(contact_now, Some("at the pass".into())),
        FieldKind::Locator(member) => (member.set)(contact_now, Some("DN51em33bb".into())),
        FieldKind::Band(member) => (member.set)(contact_now, Some("20m".into())),
        FieldKind::Mode(member) => (member.set)(contact_now, Some("FM".into())),
        FieldKind::Submode(member) => (member.set)(contact_now, Some("USB".into())),
        FieldKind::Time(member) => {
            (member.set)(contact_now, DateTime::from_timestamp(1_778_771_100, 0));
        }
        FieldKind::Frequency(member) => (member.set)(contact_now, Some(14_287_500)),
        FieldKind::Degrees { member, .. } => (member.set)(contact_now, Some(41.5)),
        FieldKind::EnumerationNumber(member) => (member.set)(contact_now, Some(291)),
    }
    contact
}

/// The field alone, whatever else the contact holds.
fn value(definition: &FieldDefinition, contact: &Contact) -> Option<String> {
    definition.field.text(contact)
}

#[test]
fn a_csv_file_has_every_field() {
    for definition in &FIELDS {
        let contact = contact_with(definition);
        let text = table_csv::write(std::slice::from_ref(&contact)).unwrap();
        let read = table_csv::read(text.as_bytes()).unwrap();
        assert_eq!(read.complaints.count(), 0, "{text}");
        let back = &read.records[0].contact;
        let key = definition.key;
        assert!(value(definition, back).is_some(), "{key}");
        assert_eq!(
            value(definition, back),
            value(definition, &contact),
            "{key}"
        );
    }
}

#[test]
fn an_adif_file_has_every_field_that_adif_knows() {
    for definition in FIELDS.iter().filter(|found| !found.adif.names.is_empty()) {
        let contact = contact_with(definition);
        let one = std::slice::from_ref(&contact);
        for write in [adif::write, adif::write_adx] {
            let written = write(one, "P", "1", DateTime::UNIX_EPOCH);
            assert_eq!(written.doubts, [], "{}", written.text);
            let read = adif::read(written.text.as_bytes());
            assert_eq!(read.complaints.kept(), []);
            let back = &read.records[0].contact;
            if definition.field == ContactField::AreaEnd {
                // A field of our own is kept as it came.
                assert_eq!(back.more[0].name, definition.adif.names[0]);
                assert_eq!(
                    Some(&back.more[0].value),
                    value(definition, &contact).as_ref()
                );
                continue;
            }
            assert!(value(definition, back).is_some(), "{}", definition.key);
            assert_eq!(value(definition, back), value(definition, &contact));
        }
    }
}
