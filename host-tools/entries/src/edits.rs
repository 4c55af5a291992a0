//! What a person says of an entry, word by word, and the contact that it makes.

use std::collections::BTreeMap;

use chrono::{DateTime, NaiveDateTime, SubsecRound as _, Utc};
use jumpseat_place::{band, callsign, locator, mode};
use jumpseat_values::display::{hertz, megahertz};
use jumpseat_values::{DialDoubt, Doubt, EntryDoubt};
use serde::{Deserialize, Serialize};

use crate::{Contact, Entry};

/// Whose log it is, as its owner wrote it down.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct OwnStation {
    /// The station's call sign.
    pub call: Option<String>,
    /// The operator's call sign.
    pub operator: Option<String>,
}

impl OwnStation {
    /// The entry's contact. Where it was confirmed before the own call sign was
    /// written down, it gets that, and the operator with it; another log's contact
    /// is its own.
    pub fn signed(&self, entry: &Entry) -> Option<Contact> {
        let mut contact = entry.contact.clone()?;
        if !entry.imported && contact.station.is_none() {
            contact.station.clone_from(&self.call);
            contact.operator = contact.operator.or_else(|| self.operator.clone());
        }
        Some(contact)
    }
}

/// What of a contact a person can say something about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ContactField {
    /// The other station's call sign.
    Call,
    /// Report given.
    Sent,
    /// Report received.
    Received,
    /// The other operator's name.
    Name,
    /// The other station's town or place.
    Qth,
    /// The other station's locator.
    TheirLocator,
    /// Start, UTC, such as "2026-05-14 15:04:28".
    On,
    /// End, UTC.
    Off,
    /// The own frequency in megahertz.
    Mhz,
    /// The other station's frequency in megahertz, where that is another.
    ReceiveMhz,
    /// The mode in rig control's or the log's word, such as "USB" or "FM".
    Mode,
    /// Own locator.
    Locator,
    /// The other station's special activity.
    Sig,
    /// What that says of the place.
    SigInfo,
    /// Own special activity.
    MySig,
    /// What that says of the own place.
    MySigInfo,
    /// Remarks.
    Comment,
}

/// Words as they were typed. An empty text takes the value out.
pub type Edits = BTreeMap<ContactField, String>;

/// A word that cannot stand.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{reason}")]
pub struct EditError {
    /// Which one.
    pub word: ContactField,
    /// Why, and what would be right.
    pub reason: String,
}

impl ContactField {
    /// All of them, the most asked for first.
    pub const ALL: [Self; 17] = [
        Self::Call,
        Self::Sent,
        Self::Received,
        Self::Name,
        Self::Qth,
        Self::TheirLocator,
        Self::On,
        Self::Off,
        Self::Mhz,
        Self::ReceiveMhz,
        Self::Mode,
        Self::Locator,
        Self::Sig,
        Self::SigInfo,
        Self::MySig,
        Self::MySigInfo,
        Self::Comment,
    ];

    /// As programs name it; what serde writes too.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Call => "call",
            Self::Sent => "sent",
            Self::Received => "received",
            Self::Name => "name",
            Self::Qth => "qth",
            Self::TheirLocator => "their_locator",
            Self::On => "on",
            Self::Off => "off",
            Self::Mhz => "mhz",
            Self::ReceiveMhz => "receive_mhz",
            Self::Mode => "mode",
            Self::Locator => "locator",
            Self::Sig => "sig",
            Self::SigInfo => "sig_info",
            Self::MySig => "my_sig",
            Self::MySigInfo => "my_sig_info",
            Self::Comment => "comment",
        }
    }

    /// The word with that key.
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|word| word.key() == key)
    }

    /// As people name it, in the middle of a sentence.
    pub const fn label(self) -> &'static str {
        match self {
            Self::Call => "call sign",
            Self::Sent => "report sent",
            Self::Received => "report received",
            Self::Name => "name",
            Self::Qth => "their place",
            Self::TheirLocator => "their locator",
            Self::On => "start",
            Self::Off => "end",
            Self::Mhz => "frequency",
            Self::ReceiveMhz => "receive frequency",
            Self::Mode => "mode",
            Self::Locator => "own locator",
            Self::Sig => "their programme",
            Self::SigInfo => "their reference",
            Self::MySig => "own programme",
            Self::MySigInfo => "own reference",
            Self::Comment => "remarks",
        }
    }

    /// What a contact has there, as it would be typed.
    pub fn text(self, contact: &Contact) -> Option<String> {
        match self {
            Self::Call => Some(contact.call.clone()).filter(|call| !call.is_empty()),
            Self::Sent => contact.sent.clone(),
            Self::Received => contact.received.clone(),
            Self::Name => contact.name.clone(),
            Self::Qth => contact.qth.clone(),
            Self::TheirLocator => contact.their_locator.clone(),
            Self::On => contact.on.map(stamp),
            Self::Off => contact.off.map(stamp),
            Self::Mhz => contact.hz.map(megahertz),
            Self::ReceiveMhz => contact.hz_rx.map(megahertz),
            Self::Mode => contact.submode.clone().or_else(|| contact.mode.clone()),
            Self::Locator => contact.locator.clone(),
            Self::Sig => contact.sig.clone(),
            Self::SigInfo => contact.sig_info.clone(),
            Self::MySig => contact.my_sig.clone(),
            Self::MySigInfo => contact.my_sig_info.clone(),
            Self::Comment => contact.comment.clone(),
        }
    }
}

/// What was confirmed before, or what the draft says that needs no hearing; the
/// doubts about it are added to `doubts`.
pub fn start(entry: &Entry, own: &OwnStation, doubts: &mut Vec<Doubt>) -> Contact {
    if let Some(contact) = own.signed(entry) {
        return contact;
    }
    let Some(draft) = &entry.draft else {
        return Contact::default();
    };
    let word = draft.mode.value.as_deref();
    let mode = word.and_then(mode::adif_mode);
    if let (Some(word), None) = (word, mode) {
        let mode = word.to_owned();
        doubts.push(DialDoubt::UnknownMode { mode }.into());
    }
    Contact {
        call: String::new(),
        on: draft.on.value,
        off: draft.off.value,
        hz: draft.hz.value,
        band: draft.band.value.clone(),
        mode: mode.map(|mode| mode.mode.to_owned()),
        submode: mode.and_then(|mode| mode.submode).map(ToOwned::to_owned),
        operator: own.operator.clone().or_else(|| draft.operator.clone()),
        station: own.call.clone().or_else(|| draft.station.clone()),
        locator: draft.locator.value.clone(),
        lat: draft.lat.value,
        lon: draft.lon.value,
        area: if draft.area.doubts.is_empty() {
            draft.area.value.clone()
        } else {
            None
        },
        area_off: draft.area_off.clone(),
        ..Contact::default()
    }
}

/// The contact that an entry becomes with what a person said of it, and doubts
/// about what was said. What was not said stays as it is.
///
/// # Errors
/// [`EditError`] where a word can never stand.
pub fn contact(
    entry: &Entry,
    own: &OwnStation,
    said: &Edits,
) -> Result<(Contact, Vec<Doubt>), EditError> {
    let mut doubts = Vec::new();
    let mut contact = start(entry, own, &mut doubts);
    let before = (contact.on, contact.off);
    for (&word, text) in said {
        set(&mut contact, word, text.trim(), &mut doubts)?;
    }
    in_order(&mut contact, before)?;
    if contact.call.is_empty() {
        return Err(EditError {
            word: ContactField::Call,
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
    Ok((contact, doubts))
}

/// Start and end, as far as they are known.
type ContactTimes = (Option<DateTime<Utc>>, Option<DateTime<Utc>>);

/// Refuses an end before the start, where one of them was changed. People say whole
/// seconds; within one the end is not before the start.
fn in_order(contact: &mut Contact, before: ContactTimes) -> Result<(), EditError> {
    let word = if contact.off != before.1 {
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
        word,
        reason: format!(
            "it cannot end ({}) before it begins ({}); say both where both are others",
            stamp(off),
            stamp(on)
        ),
    })
}

fn set(
    contact: &mut Contact,
    word: ContactField,
    text: &str,
    doubts: &mut Vec<Doubt>,
) -> Result<(), EditError> {
    // What is shown rounded and was not changed stays as exact as it is.
    if word.text(contact).as_deref() == Some(text) {
        return Ok(());
    }
    let wrong = |reason: String| EditError { word, reason };
    let given = Some(text.to_owned()).filter(|text| !text.is_empty());
    let place = |text: Option<String>| match text {
        Some(text) => locator::decode(&text)
            .map(|_| Some(locator::usual_case(&text)))
            .map_err(|error| wrong(format!("'{text}' is no locator: {error}"))),
        None => Ok(None),
    };
    match word {
        ContactField::Call => {
            let call = callsign::parse(text)
                .map_err(|error| wrong(format!("'{text}' cannot be a call sign: {error}")))?;
            let sentences = call.doubts.iter().map(ToString::to_string);
            doubts.extend(sentences.map(|sentence| Doubt::read(&sentence)));
            contact.call = call.value.to_string();
        }
        ContactField::Sent => contact.sent = given,
        ContactField::Received => contact.received = given,
        ContactField::Name => contact.name = given,
        ContactField::Qth => contact.qth = given,
        ContactField::TheirLocator => contact.their_locator = place(given)?,
        ContactField::On => contact.on = time(text).map_err(wrong)?,
        ContactField::Off => contact.off = time(text).map_err(wrong)?,
        ContactField::Mhz => {
            contact.hz = frequency(text).map_err(wrong)?;
            contact.band = contact.hz.and_then(band::of).map(|band| band.name.clone());
            if contact.hz.is_some() && contact.band.is_none() {
                doubts.push(DialDoubt::NoBand.into());
            }
        }
        ContactField::ReceiveMhz => contact.hz_rx = frequency(text).map_err(wrong)?,
        ContactField::Mode => {
            let known = mode::adif_mode(text);
            if known.is_none() && !text.is_empty() {
                let mode = text.to_owned();
                doubts.push(EntryDoubt::UnknownMode { mode }.into());
            }
            contact.mode = known.map(|mode| mode.mode.to_owned()).or(given);
            contact.submode = known.and_then(|mode| mode.submode).map(ToOwned::to_owned);
        }
        ContactField::Locator => contact.locator = place(given)?,
        ContactField::Sig => contact.sig = given,
        ContactField::SigInfo => contact.sig_info = given,
        ContactField::MySig => contact.my_sig = given,
        ContactField::MySigInfo => contact.my_sig_info = given,
        ContactField::Comment => contact.comment = given,
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
        .ok_or_else(|| format!("'{text}' is no time in UTC, such as 2026-05-14 15:04:28"))
}

/// Megahertz as a person types them.
fn frequency(text: &str) -> Result<Option<u64>, String> {
    if text.is_empty() {
        return Ok(None);
    }
    let hz = hertz(text).filter(|hz| *hz > 0);
    let hz = hz.ok_or_else(|| format!("'{text}' is no frequency in megahertz, such as 14.2875"))?;
    let thousandth = hz / 1000;
    if band::of(hz).is_none() && band::of(thousandth).is_some() {
        return Err(format!(
            "'{text}' megahertz lie in no amateur band; if these are kilohertz, say {}",
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
mod tests;
