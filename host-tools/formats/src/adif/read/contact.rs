//! Makes a contact of the fields of a record.

use std::collections::BTreeSet;

use chrono::{DateTime, NaiveDate, NaiveTime, Utc};
use jumpseat_entries::fields::{FieldDefinition, FieldKind, in_adif_order};
use jumpseat_entries::{AdministrativeArea, Contact, ContactField, ExtraField};
use jumpseat_place::locator::is_locator;
use jumpseat_values::display::hertz;

use super::record::{AdifRecord, is_header};
use super::{tag, value};
use crate::adif::modes;
use crate::adif::spec::{self, is_application};
use crate::adif::text::ascii;
use crate::reading::ReadComplaints;

/// The fields of a record that were not read yet.
struct UnreadFields<'a> {
    left: Vec<ExtraField>,
    line: usize,
    complaints: &'a mut ReadComplaints,
}

/// The contact of a record; `None` without a call sign. What cannot be understood is left
/// empty, with a complaint.
pub(super) fn contact_from_record(
    raw: AdifRecord,
    defined: &[ExtraField],
    complaints: &mut ReadComplaints,
) -> Option<Contact> {
    let mut fields = UnreadFields {
        left: raw.fields,
        line: raw.line,
        complaints,
    };
    fields.rename("GUEST_OP", "OPERATOR");
    fields.rename("VE_PROV", "STATE");
    let call = ContactField::Call.definition();
    let mut contact = Contact {
        call: call.adif.names.iter().find_map(|name| fields.upper(name))?,
        ..Contact::default()
    };
    for definition in in_adif_order() {
        if definition.field != ContactField::Call {
            fields.fill(definition, &mut contact);
        }
    }
    if let Some(area) = &mut contact.area {
        area.name = area_name(area);
        area.short.clone_from(&area.name);
    }
    fields.times(&mut contact);
    contact.more = fields.rest(defined);
    Some(contact)
}

/// People's words for an area that a record gives in those of the specification.
fn area_name(area: &AdministrativeArea) -> String {
    match (&area.county, &area.state, &area.country) {
        (Some(county), ..) => match county.split_once(',') {
            Some((state, county)) => format!("{county}, {state}"),
            None => county.clone(),
        },
        (None, Some(state), Some(country)) => format!("{state}, {country}"),
        (None, Some(word), None) | (None, None, Some(word)) => word.clone(),
        (None, None, None) => format!("entity {}", area.dxcc.unwrap_or_default()),
    }
}

impl UnreadFields<'_> {
    /// Fills one field of a contact. Times are read together, later.
    fn fill(&mut self, definition: &FieldDefinition, contact: &mut Contact) {
        match (&definition.kind, definition.adif.names) {
            // A field of our own that ADIF does not know is kept as it came.
            (_, [name, ..]) if is_application(name) => {}
            (FieldKind::CallSign(member), [name]) => (member.set)(contact, self.upper(name)),
            (FieldKind::Report(member) | FieldKind::Text(member), [name]) => {
                (member.set)(contact, self.text(name));
            }
            (FieldKind::Locator(member), [name, further]) => {
                (member.set)(contact, self.locator(name, further));
            }
            (FieldKind::Frequency(member), [name]) => (member.set)(contact, self.hertz(name)),
            (FieldKind::Band(member), [name]) => {
                let band = self.upper(name).map(|band| band.to_lowercase());
                (member.set)(contact, band);
            }
            (FieldKind::Mode(member), [name]) => {
                let known = self.upper(name).map(|word| modes::current_mode(&word));
                let (mode, within) = known.unzip();
                (member.set)(contact, mode);
                // An old file's mode may be a submode of today; SUBMODE comes later.
                contact.submode = within.flatten();
            }
            (FieldKind::Submode(member), [name]) => {
                if let Some(submode) = self.upper(name) {
                    (member.set)(contact, Some(submode));
                }
            }
            (
                FieldKind::Degrees {
                    member,
                    limit,
                    letters,
                },
                [name],
            ) => {
                (member.set)(contact, self.degrees(name, f64::from(*limit), *letters));
            }
            (FieldKind::EnumerationNumber(member), [name]) => {
                let number = self.read(name, "number of an entity", |text| text.parse().ok());
                (member.set)(contact, number);
            }
            _ => {}
        }
    }

    /// Takes a field out, and returns its value if it has one.
    fn take(&mut self, name: &str) -> Option<String> {
        let mut found: Option<String> = None;
        let mut twice = false;
        self.left.retain_mut(|field| {
            if field.name != name {
                return true;
            }
            let value = std::mem::take(&mut field.value);
            match &found {
                _ if value.is_empty() => {}
                Some(first) => twice |= *first != value,
                None => found = Some(value),
            }
            false
        });
        if twice {
            self.complain(format!("{name}: it appears twice; the first one was taken"));
        }
        found
    }

    fn complain(&mut self, reason: String) {
        self.complaints.add(self.line, reason);
    }

    /// Renames a field that had another name in older versions, unless both are there.
    fn rename(&mut self, old: &str, new: &str) {
        if self.left.iter().any(|field| field.name == new) {
            return;
        }
        for field in &mut self.left {
            if field.name == old {
                field.name = new.to_owned();
            }
        }
    }

    /// Reads a value, or adds a complaint about it.
    fn read<T>(
        &mut self,
        name: &str,
        what: &str,
        reads: impl FnOnce(&str) -> Option<T>,
    ) -> Option<T> {
        let text = self.take(name)?;
        let read = reads(&text);
        if read.is_none() {
            let shown: String = text.chars().take(40).collect();
            self.complain(format!(
                "{name}: '{shown}' is not a {what}; it was left empty"
            ));
        }
        read
    }

    /// A word in upper-case ASCII; a zero may be written with a slash.
    fn upper(&mut self, name: &str) -> Option<String> {
        let written = self.take(name)?;
        let (word, _) = ascii(&written.replace(['Ø', 'ø'], "0"));
        if !written.is_ascii() {
            self.complain(format!("{name}: '{written}' is read as '{word}'"));
        }
        Some(word.to_uppercase()).filter(|word| !word.is_empty())
    }

    /// Text, also from the second field with every character, where there is one.
    fn text(&mut self, name: &str) -> Option<String> {
        let plain = self.take(name);
        let international = format!("{name}_INTL");
        if spec::holds(&international).is_none() {
            return plain;
        }
        self.take(&international).or(plain)
    }

    /// Some programs write zero for an unknown frequency.
    fn hertz(&mut self, name: &str) -> Option<u64> {
        self.read(name, "number of megahertz", hertz)
            .filter(|hz| *hz > 0)
    }

    fn degrees(&mut self, name: &str, most: f64, letters: [char; 2]) -> Option<f64> {
        self.read(name, "place such as N041 32.628", |text| {
            value::degrees(text, most, letters)
        })
    }

    fn locator(&mut self, name: &str, further: &str) -> Option<String> {
        let whole = self.read(name, "locator", |text| {
            is_locator(text).then(|| text.to_owned())
        });
        let Some(longer) = self.take(further) else {
            return whole;
        };
        let Some(whole) = whole.filter(|whole| whole.len() == 8) else {
            self.complain(format!(
                "{further}: it belongs to a locator of eight characters"
            ));
            return None;
        };
        let longer = format!("{whole}{longer}");
        if is_locator(&longer) {
            return Some(longer);
        }
        self.complain(format!(
            "{further}: it is not part of a locator; it was left out"
        ));
        Some(whole)
    }

    fn times(&mut self, contact: &mut Contact) {
        let date = |text: &str| value::date(text);
        let day: Option<NaiveDate> = self.read("QSO_DATE", "date such as 20260514", date);
        let last: Option<NaiveDate> = self.read("QSO_DATE_OFF", "date such as 20260514", date);
        let from = self.read("TIME_ON", "time such as 150421", value::time);
        let to = self.read("TIME_OFF", "time such as 150421", value::time);
        let (Some(day), Some((from, minute))) = (day, from) else {
            self.complain("its date and time are not known, so it cannot be exported".into());
            // The day alone is kept as it was.
            if let Some(day) = day {
                self.left.push(ExtraField {
                    name: "QSO_DATE".into(),
                    value: day.format("%Y%m%d").to_string(),
                    ..ExtraField::default()
                });
            }
            return;
        };
        let on: DateTime<Utc> = day.and_time(from).and_utc();
        contact.on = Some(on);
        contact.off = to.and_then(|(to, _): (NaiveTime, bool)| value::end(on, last, to));
        contact.whole_minutes = minute && to.is_none_or(|(_, minute)| minute);
    }

    /// The fields that were not read; they are kept.
    fn rest(mut self, defined: &[ExtraField]) -> Vec<ExtraField> {
        let mut left = std::mem::take(&mut self.left);
        left.retain(|field| !field.value.is_empty() && !is_header(&field.name));
        for field in left.extract_if(.., |field| !can_stand(&field.name)) {
            let shown: String = field.name.chars().take(40).collect();
            self.complain(format!(
                "'{shown}' is not a valid field name; it was left out"
            ));
        }
        let mut names = BTreeSet::new();
        for field in left.extract_if(.., |field| !names.insert(field.name.clone())) {
            self.complain(format!(
                "{}: it appears twice; the first one was taken",
                field.name
            ));
        }
        for field in &mut left {
            let by_user = defined.iter().find(|user| user.name == field.name);
            if let Some(user) = by_user {
                field.kind = field.kind.take().or_else(|| user.kind.clone());
                field.user.clone_from(&user.user);
            } else if spec::holds(&field.name).is_none() && !is_application(&field.name) {
                field.user.get_or_insert_default();
            } else {
                field.user = None;
            }
            if field.user.is_some() {
                // The specification wants a kind; text is what any value is.
                field.kind.get_or_insert_with(|| "S".into());
            }
        }
        left
    }
}

/// Whether this can be the name of a field; the end of a record is none.
fn can_stand(name: &str) -> bool {
    tag::is_name(name.as_bytes()) && !matches!(name, "EOR" | "EOH")
}
