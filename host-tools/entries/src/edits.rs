//! What a person types over the fields of an entry.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDateTime, SubsecRound as _, Utc};
use jumpseat_place::{band, callsign, locator, mode};
use jumpseat_values::display::{hertz, megahertz};
use jumpseat_values::{DialDoubt, Doubt, EntryDoubt};

use crate::contact::Contact;
use crate::fields::{ContactField, FieldKind};

/// The text that was typed for each field. An empty text takes the value out.
pub type Edits = BTreeMap<ContactField, String>;

/// An edit that cannot stand.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{reason}")]
pub struct EditError {
    /// The field.
    pub field: ContactField,
    /// Why, and what would be right.
    pub reason: String,
}

impl ContactField {
    /// What a contact has there, as a person would type it.
    pub fn text(self, contact: &Contact) -> Option<String> {
        match &self.definition().kind {
            FieldKind::CallSign(member)
            | FieldKind::Report(member)
            | FieldKind::Text(member)
            | FieldKind::Locator(member)
            | FieldKind::Band(member)
            | FieldKind::Submode(member) => (member.get)(contact),
            FieldKind::Mode(_) => contact.mode_word().map(str::to_owned),
            FieldKind::Time(member) => (member.get)(contact).map(stamp),
            FieldKind::Frequency(member) => (member.get)(contact).map(megahertz),
            FieldKind::Degrees { member, .. } => {
                (member.get)(contact).map(|degrees| degrees.to_string())
            }
            FieldKind::EnumerationNumber(member) => {
                (member.get)(contact).map(|number| number.to_string())
            }
        }
    }
}

/// Puts the edits into a contact, and adds doubts about them.
///
/// # Errors
/// [`EditError`] where an edit can never stand; the contact is not to be used then.
pub(crate) fn apply(
    contact: &mut Contact,
    edits: &Edits,
    doubts: &mut Vec<Doubt>,
) -> Result<(), EditError> {
    let before = (contact.on, contact.off);
    for (&field, text) in edits {
        set(contact, field, text.trim(), doubts)?;
    }
    in_order(contact, before)?;
    if contact.call.is_empty() {
        return Err(EditError {
            field: ContactField::Call,
            reason: "a contact needs the other station's call sign".into(),
        });
    }
    let unusual = |report: &&String| !is_report(report);
    if let Some(report) = contact.sent.as_ref().filter(unusual).cloned() {
        doubts.push(EntryDoubt::UnusualSent { report }.into());
    }
    if let Some(report) = contact.received.as_ref().filter(unusual).cloned() {
        doubts.push(EntryDoubt::UnusualReceived { report }.into());
    }
    if contact.on.is_none() {
        doubts.push(EntryDoubt::NoTime.into());
    }
    Ok(())
}

/// Start and end, as far as they are known.
type ContactTimes = (Option<DateTime<Utc>>, Option<DateTime<Utc>>);

/// Refuses an end before the start if one of them was changed. People give
/// whole seconds: an end within the second of the start is no error.
fn in_order(contact: &mut Contact, before: ContactTimes) -> Result<(), EditError> {
    let field = if contact.off != before.1 {
        ContactField::Off
    } else {
        ContactField::On
    };
    let (Some(on), Some(off)) = (contact.on, contact.off) else {
        return Ok(());
    };
    if (contact.on, contact.off) == before || on <= off {
        return Ok(());
    }
    if on.round_subsecs(0) == off.round_subsecs(0) {
        contact.off = contact.on;
        return Ok(());
    }
    Err(EditError {
        field,
        reason: format!(
            "it cannot end ({}) before it begins ({}); if both are wrong, give both",
            stamp(off),
            stamp(on)
        ),
    })
}

/// Puts one edit into a contact.
fn set(
    contact: &mut Contact,
    field: ContactField,
    text: &str,
    doubts: &mut Vec<Doubt>,
) -> Result<(), EditError> {
    // What is shown rounded and was not changed stays as exact as it is.
    if field.text(contact).as_deref() == Some(text) {
        return Ok(());
    }
    let wrong = |reason: String| EditError { field, reason };
    let given = Some(text.to_owned()).filter(|text| !text.is_empty());
    match &field.definition().kind {
        FieldKind::CallSign(member) => {
            let call = callsign::parse(text)
                .map_err(|error| wrong(format!("'{text}' cannot be a call sign: {error}")))?;
            doubts.extend(call.doubts);
            (member.set)(contact, call.value.map(|sign| sign.to_string()));
        }
        FieldKind::Report(member) | FieldKind::Text(member) => (member.set)(contact, given),
        FieldKind::Locator(member) => {
            if let Some(text) = &given {
                locator::decode(text)
                    .map_err(|error| wrong(format!("'{text}' is not a locator: {error}")))?;
            }
            (member.set)(contact, given.as_deref().map(locator::usual_case));
        }
        FieldKind::Time(member) => (member.set)(contact, time(text).map_err(wrong)?),
        FieldKind::Frequency(member) => {
            (member.set)(contact, frequency(text).map_err(wrong)?);
            if field == ContactField::Mhz {
                contact.band = contact.hz.and_then(band::of).map(|band| band.name.clone());
                if contact.hz.is_some() && contact.band.is_none() {
                    doubts.push(DialDoubt::NoBand.into());
                }
            }
        }
        FieldKind::Mode(_) => {
            let known = mode::adif_mode(text);
            if known.is_none() && !text.is_empty() {
                let mode = text.to_owned();
                doubts.push(EntryDoubt::UnknownMode { mode }.into());
            }
            contact.mode = known.map(|mode| mode.mode.to_owned()).or(given);
            contact.submode = known.and_then(|mode| mode.submode).map(ToOwned::to_owned);
        }
        FieldKind::Band(_)
        | FieldKind::Submode(_)
        | FieldKind::Degrees { .. }
        | FieldKind::EnumerationNumber(_) => {
            return Err(wrong(format!("the {} is not typed", field.label())));
        }
    }
    Ok(())
}

/// UTC to the second, as it would be typed.
fn stamp(time: DateTime<Utc>) -> String {
    let time = time.round_subsecs(0);
    time.format("%Y-%m-%d %H:%M:%S").to_string()
}

/// UTC as a person types it.
fn time(text: &str) -> Result<Option<DateTime<Utc>>, String> {
    if text.is_empty() {
        return Ok(None);
    }
    let plain = text.trim_end_matches(['Z', 'z']).replace('T', " ");
    ["%Y-%m-%d %H:%M:%S%.f", "%Y-%m-%d %H:%M"]
        .iter()
        .find_map(|form| NaiveDateTime::parse_from_str(plain.trim(), form).ok())
        .map(|time| Some(time.and_utc()))
        .ok_or_else(|| format!("'{text}' is not a UTC time such as 2026-05-14 15:04:28"))
}

/// Megahertz as a person types them.
fn frequency(text: &str) -> Result<Option<u64>, String> {
    if text.is_empty() {
        return Ok(None);
    }
    let hz = hertz(text).filter(|hz| *hz > 0);
    let hz =
        hz.ok_or_else(|| format!("'{text}' is not a frequency in megahertz such as 14.2875"))?;
    let thousandth = hz / 1000;
    if band::of(hz).is_none() && band::of(thousandth).is_some() {
        return Err(format!(
            "'{text}' megahertz is in no amateur band; if you mean kilohertz, type {}",
            megahertz(thousandth)
        ));
    }
    Ok(Some(hz))
}

/// Readability 1 to 5 and strength 1 to 9, for telegraphy a tone 1 to 9; or
/// decibels over 9 (common practice).
fn is_report(report: &str) -> bool {
    let digits: Vec<u32> = report.chars().map_while(|c| c.to_digit(10)).collect();
    let rest = report.get(digits.len()..).unwrap_or_default();
    let shape = matches!(digits.as_slice(), [1..=5, 1..=9] | [1..=5, 1..=9, 1..=9]);
    let over = rest
        .strip_prefix('+')
        .is_some_and(|over| !over.is_empty() && over.chars().all(|c| c.is_ascii_digit()));
    shape && (rest.is_empty() || over)
}

#[cfg(test)]
mod tests {
    use super::is_report;

    #[test]
    fn a_usual_report_has_readability_strength_and_perhaps_a_tone() {
        for (report, usual) in [
            ("59", true),
            ("11", true),
            ("599", true),
            ("59+20", true),
            ("69", false),
            ("50", false),
            ("5", false),
            ("", false),
            ("5999", false),
            ("59+", false),
            ("five nine", false),
            ("５９", false),
        ] {
            assert_eq!(is_report(report), usual, "{report}");
        }
    }
}
