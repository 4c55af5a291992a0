use std::collections::BTreeSet;

use serde::Deserialize;
use serde::de::{self, Deserializer, Visitor};
use serde_json::Value;

use super::*;
use crate::{AdministrativeArea, Contact};

/// Writes down which members a structure has that is read by serde.
struct MemberNames<'a>(&'a mut &'static [&'static str]);

impl<'de> Deserializer<'de> for MemberNames<'_> {
    type Error = de::value::Error;

    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        members: &'static [&'static str],
        _: V,
    ) -> Result<V::Value, Self::Error> {
        *self.0 = members;
        Err(de::Error::custom("only its members are asked for"))
    }

    fn deserialize_any<V: Visitor<'de>>(self, _: V) -> Result<V::Value, Self::Error> {
        Err(de::Error::custom("no structure"))
    }

    serde::forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf
        option unit unit_struct newtype_struct seq tuple tuple_struct map enum identifier
        ignored_any
    }
}

/// The members of a contact, as its JSON names them.
fn members() -> BTreeSet<&'static str> {
    let mut members: &[&str] = &[];
    let _ = Contact::deserialize(MemberNames(&mut members));
    members.iter().copied().collect()
}

/// A value for a field, put in through its row.
fn set_sample(definition: &FieldDefinition, contact: &mut Contact) {
    match &definition.kind {
        FieldKind::CallSign(member) => (member.set)(contact, Some("KB0QSE".into())),
        FieldKind::Report(member) => (member.set)(contact, Some("59".into())),
        FieldKind::Text(member) => (member.set)(contact, Some("at the pass".into())),
        FieldKind::Locator(member) => (member.set)(contact, Some("DN51em".into())),
        FieldKind::Band(member) => (member.set)(contact, Some("20m".into())),
        FieldKind::Mode(member) => (member.set)(contact, Some("SSB".into())),
        FieldKind::Submode(member) => (member.set)(contact, Some("USB".into())),
        FieldKind::Time(member) => {
            (member.set)(contact, "2026-05-14T15:04:28Z".parse().ok());
        }
        FieldKind::Frequency(member) => (member.set)(contact, Some(14_287_500)),
        FieldKind::Degrees { member, .. } => (member.set)(contact, Some(41.5)),
        FieldKind::EnumerationNumber(member) => (member.set)(contact, Some(291)),
    }
}

/// Paths of the values in which two contacts differ, such as "area/dxcc".
fn changed(before: &Contact, after: &Contact) -> BTreeSet<String> {
    fn walk(path: &str, before: &Value, after: &Value, changed: &mut BTreeSet<String>) {
        match after {
            Value::Object(members) => {
                for (name, value) in members {
                    let path = format!("{path}/{name}");
                    let was = before.get(name).unwrap_or(&Value::Null);
                    walk(&path, was, value, changed);
                }
            }
            value if value != before => {
                changed.insert(path.trim_start_matches('/').to_owned());
            }
            _ => {}
        }
    }
    let json = |contact: &Contact| serde_json::to_value(contact).unwrap();
    let mut found = BTreeSet::new();
    walk("", &json(before), &json(after), &mut found);
    found
}

#[test]
fn every_member_of_a_contact_has_a_row() {
    // These two are no values of their own.
    let mut named = BTreeSet::from(["whole_minutes", "more"]);
    named.extend(FIELDS.iter().map(|definition| {
        let member = definition.json.split('/').next();
        member.unwrap()
    }));
    assert!(members().len() > 20);
    assert_eq!(named, members());
}

#[test]
fn a_row_writes_the_member_that_it_names_and_no_other() {
    // In an area there is always a name.
    let empty = Contact {
        area: Some(AdministrativeArea::default()),
        ..Contact::default()
    };
    for definition in &FIELDS {
        let mut contact = empty.clone();
        set_sample(definition, &mut contact);
        let mut found = changed(&empty, &contact);
        // The short name of an area stands for its name where nobody gave one, and an
        // area brings all of its members.
        found.retain(|path| !path.ends_with("/short"));
        if definition.field == ContactField::AreaEnd {
            found.retain(|path| path == definition.json);
        }
        assert_eq!(found, BTreeSet::from([definition.json.to_owned()]));
    }
}

#[test]
fn what_is_typed_over_a_field_changes_its_member() {
    for field in ContactField::editable() {
        let definition = field.definition();
        let mut sample = Contact::default();
        set_sample(definition, &mut sample);
        let text = field.text(&sample).unwrap();
        let mut contact = Contact {
            call: "W7QTM".into(),
            ..Contact::default()
        };
        let edits = [(field, text.clone())].into();
        crate::edits::apply(&mut contact, &edits, &mut Vec::new()).unwrap();
        assert_eq!(field.text(&contact), Some(text));
        let taken_out = [(field, String::new())].into();
        let done = crate::edits::apply(&mut contact, &taken_out, &mut Vec::new());
        assert_eq!(done.is_err(), field == ContactField::Call);
        assert_eq!(field.text(&contact).is_some(), field == ContactField::Call);
    }
}

#[test]
fn a_field_is_known_by_its_key() {
    for definition in &FIELDS {
        assert_eq!(definition.field.definition().field, definition.field);
        let editable = definition.edit.is_some();
        let found = ContactField::from_key(definition.key);
        assert_eq!(found, editable.then_some(definition.field));
        if editable {
            // Stored edits have it as serde writes it.
            assert_eq!(
                serde_json::to_value(definition.field).unwrap(),
                definition.key
            );
        }
    }
}

#[test]
fn names_and_places_are_given_once() {
    let keys: BTreeSet<_> = FIELDS.iter().map(|definition| definition.key).collect();
    let columns: BTreeSet<_> = FIELDS
        .iter()
        .map(|definition| definition.csv.name)
        .collect();
    let places: Vec<u8> = in_csv_order().iter().map(|found| found.csv.place).collect();
    let count = u8::try_from(FIELDS.len()).unwrap();
    assert_eq!((keys.len(), columns.len()), (FIELDS.len(), FIELDS.len()));
    assert_eq!(places, (1..=count).collect::<Vec<u8>>());
    let records = in_adif_order();
    let names: Vec<_> = records.iter().flat_map(|found| found.adif.names).collect();
    assert_eq!(names.iter().collect::<BTreeSet<_>>().len(), names.len());
    let places: BTreeSet<u8> = records.iter().map(|found| found.adif.place).collect();
    assert_eq!(places.len(), records.len());
    for definition in records {
        let needed = match definition.kind {
            FieldKind::Time(_) | FieldKind::Locator(_) => 2,
            _ => 1,
        };
        assert_eq!(definition.adif.names.len(), needed, "{}", definition.key);
    }
}

#[test]
fn what_is_heard_can_be_confirmed_on_the_command_line() {
    for definition in &FIELDS {
        let heard = matches!(definition.draft, DraftSource::Heard { .. });
        let option = definition.edit.and_then(|edit| edit.option);
        assert!(option.is_some() || !heard, "{}", definition.key);
        if let Some(option) = option {
            assert_eq!(option.name, definition.key.replace('_', "-"));
        }
    }
}
