//! The fields of a record, the same in ADI and ADX files.

use jumpseat_entries::fields::{FieldDefinition, FieldKind, in_adif_order};
use jumpseat_entries::{Contact, ContactField, ExtraField};
use jumpseat_values::display::megahertz;

use super::field::{day, degrees, minute_of_day, time_of_day};
use super::spec::{self, AdifTextKind, is_application};
use super::text::ascii;

/// Why a contact cannot be written to a log file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NotExportable {
    /// No call sign, or none that ASCII can write.
    #[error("it has no call sign")]
    NoCall,
    /// No date and time.
    #[error("its time is not known")]
    NoTime,
}

/// Whether a contact can be written to a log file: a record needs a call sign, a date
/// and a time.
pub fn exportable(contact: &Contact) -> Result<(), NotExportable> {
    if ascii(contact.call.trim()).0.is_empty() {
        return Err(NotExportable::NoCall);
    }
    contact.on.map(|_| ()).ok_or(NotExportable::NoTime)
}

/// A field as it will be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct AdifField {
    pub(super) name: String,
    /// Trimmed, not empty; any character, line breaks as `\n`.
    pub(super) value: String,
    pub(super) holds: AdifTextKind,
    /// The data type indicator, for a field that the specification does not have.
    pub(super) kind: Option<String>,
    /// The header of the file must define it.
    pub(super) user: bool,
}

/// Fields in the order in which they are written. What is not known is left out.
pub(super) fn fields(contact: &Contact) -> Result<Vec<AdifField>, NotExportable> {
    exportable(contact)?;
    let mut fields: Vec<AdifField> = Vec::new();
    let mut own: Vec<ExtraField> = Vec::new();
    for definition in in_adif_order() {
        for (name, value) in definition
            .adif
            .names
            .iter()
            .zip(values(definition, contact))
        {
            let value = value.map(|value| value.trim().to_owned());
            let Some(value) = value.filter(|value| !value.is_empty()) else {
                continue;
            };
            if is_application(name) {
                own.push(ExtraField {
                    name: (*name).to_owned(),
                    value,
                    kind: Some("S".into()),
                    user: None,
                });
                continue;
            }
            fields.push(AdifField {
                name: (*name).to_owned(),
                value,
                holds: spec::holds(name).unwrap_or(AdifTextKind::Line),
                kind: None,
                user: false,
            });
        }
    }
    for extra in &contact.more {
        if !fields.iter().any(|field| field.name == extra.name) {
            fields.extend(further(extra));
        }
    }
    fields.extend(own.iter().filter_map(further));
    Ok(fields)
}

/// What a contact has for each ADIF name of one of its fields.
fn values(definition: &FieldDefinition, contact: &Contact) -> Vec<Option<String>> {
    match &definition.kind {
        FieldKind::CallSign(member)
        | FieldKind::Report(member)
        | FieldKind::Text(member)
        | FieldKind::Band(member)
        | FieldKind::Mode(member)
        | FieldKind::Submode(member) => vec![(member.get)(contact)],
        FieldKind::Locator(member) => {
            let locator = (member.get)(contact).unwrap_or_default();
            // Eight characters in the field, the rest of a longer one beside it.
            let (locator, rest) = locator.split_at_checked(8).unwrap_or((&locator, ""));
            vec![Some(locator.to_owned()), Some(rest.to_owned())]
        }
        FieldKind::Time(member) => {
            let clock = if contact.whole_minutes {
                minute_of_day
            } else {
                time_of_day
            };
            let time = (member.get)(contact);
            vec![time.map(day), time.map(clock)]
        }
        FieldKind::Frequency(member) => {
            let hz = (member.get)(contact);
            // A receive frequency is written only if it differs.
            let other = definition.field == ContactField::ReceiveMhz;
            let hz = hz.filter(|hz| !other || contact.hz != Some(*hz));
            vec![hz.map(megahertz)]
        }
        FieldKind::Degrees {
            member,
            limit,
            letters,
        } => {
            let value = (member.get)(contact);
            vec![value.and_then(|value| degrees(value, *limit, *letters))]
        }
        FieldKind::EnumerationNumber(member) => {
            vec![(member.get)(contact).map(|number| number.to_string())]
        }
    }
}

/// A field that came from another log.
fn further(extra: &ExtraField) -> Option<AdifField> {
    let value = extra.value.trim().to_owned();
    let known = spec::holds(&extra.name);
    let holds = known.unwrap_or(match extra.kind.as_deref() {
        Some("M") => AdifTextKind::Lines,
        Some("I") => AdifTextKind::Intl,
        Some("G") => AdifTextKind::IntlLines,
        _ => AdifTextKind::Line,
    });
    (!value.is_empty()).then(|| AdifField {
        name: extra.name.clone(),
        value,
        holds,
        kind: extra.kind.clone().filter(|_| known.is_none()),
        user: extra.user.is_some(),
    })
}
