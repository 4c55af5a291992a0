//! What an entry says: what a person confirmed, or else what was drafted.
//!
//! What was measured (time, dial, place) is the contact's, and where the contact lacks
//! it the draft's. What was heard needs a person: the draft's counts only while nobody
//! confirmed the entry. Every list, page, search and comparison goes by this; what is
//! exported of a confirmed entry is the contact alone.

use chrono::{DateTime, Utc};
use jumpseat_place::mode;
use jumpseat_values::{DialDoubt, Doubt, Estimate};

use crate::area::AdministrativeArea;
use crate::contact::Contact;
use crate::draft::Draft;
use crate::edits::{self, EditError, Edits};
use crate::entry::Entry;
use crate::fields::{ContactField, FIELDS};
use crate::own_station::OwnStation;

/// What was confirmed before, or what the draft says that needs no hearing; the
/// doubts about it are added to `doubts`.
pub fn starting_contact(entry: &Entry, own: &OwnStation, doubts: &mut Vec<Doubt>) -> Contact {
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

/// What was confirmed before, or else all that the draft says, heard or measured; the
/// doubts about it are added to `doubts`.
pub fn likely_contact(entry: &Entry, own: &OwnStation, doubts: &mut Vec<Doubt>) -> Contact {
    let mut contact = starting_contact(entry, own, doubts);
    if let (None, Some(draft)) = (&entry.contact, &entry.draft) {
        draft.fill_heard(&mut contact);
    }
    contact
}

/// The contact that an entry becomes with a person's edits, and doubts about these.
/// What was not edited stays as it is.
///
/// # Errors
/// [`EditError`] where an edit can never stand.
pub fn edited_contact(
    entry: &Entry,
    own: &OwnStation,
    edits: &Edits,
) -> Result<(Contact, Vec<Doubt>), EditError> {
    let mut doubts = Vec::new();
    let mut contact = starting_contact(entry, own, &mut doubts);
    edits::apply(&mut contact, edits, &mut doubts)?;
    Ok((contact, doubts))
}

impl Entry {
    /// What was measured: of the contact, or else of the draft.
    fn measured<'a, T>(
        &'a self,
        of_contact: impl FnOnce(&'a Contact) -> Option<T>,
        of_draft: impl FnOnce(&'a Draft) -> Option<T>,
    ) -> Option<T> {
        let confirmed = self.contact.as_ref().and_then(of_contact);
        confirmed.or_else(|| self.draft.as_ref().and_then(of_draft))
    }

    /// Start, UTC.
    pub fn on(&self) -> Option<DateTime<Utc>> {
        self.measured(|contact| contact.on, |draft| draft.on.value)
    }

    /// End, UTC.
    pub fn off(&self) -> Option<DateTime<Utc>> {
        self.measured(|contact| contact.off, |draft| draft.off.value)
    }

    /// Frequency in hertz.
    pub fn hz(&self) -> Option<u64> {
        self.measured(|contact| contact.hz, |draft| draft.hz.value)
    }

    /// Band in the words of the ADIF enumeration.
    pub fn band(&self) -> Option<&str> {
        self.measured(
            |contact| contact.band.as_deref(),
            |draft| draft.band.value.as_deref(),
        )
    }

    /// The mode as people say it, or as rig control reported it.
    pub fn mode(&self) -> Option<&str> {
        self.measured(Contact::mode_word, |draft| draft.mode.value.as_deref())
    }

    /// The mode of the ADIF enumeration, where it is known there.
    pub fn adif_mode(&self) -> Option<&str> {
        self.measured(
            |contact| contact.mode.as_deref(),
            |draft| Some(mode::adif_mode(draft.mode.value.as_deref()?)?.mode),
        )
    }

    /// Own locator.
    pub fn locator(&self) -> Option<&str> {
        self.measured(
            |contact| contact.locator.as_deref(),
            |draft| draft.locator.value.as_deref(),
        )
    }

    /// Own area when the contact began.
    pub fn area(&self) -> Option<&AdministrativeArea> {
        self.measured(
            |contact| contact.area.as_ref(),
            |draft| draft.area.value.as_ref(),
        )
    }

    /// Own latitude and longitude in degrees.
    pub fn position(&self) -> Option<(f64, f64)> {
        self.measured(
            |contact| contact.lat.zip(contact.lon),
            |draft| draft.lat.value.zip(draft.lon.value),
        )
    }

    /// What was heard of a field, and what a person made of it.
    pub fn heard_text(&self, field: ContactField) -> Option<String> {
        match (&self.contact, &self.draft) {
            (Some(contact), _) => field.text(contact),
            (None, Some(draft)) => draft.heard(field)?.value.clone(),
            (None, None) => None,
        }
    }

    /// The other station's call sign.
    pub fn call(&self) -> Option<String> {
        self.heard_text(ContactField::Call)
    }

    /// Doubts that are still open: what a person confirmed needs no hearing any more,
    /// and what they called no contact needs nothing.
    pub fn open_doubts(&self) -> Vec<Doubt> {
        match &self.draft {
            Some(_) if self.is_no_contact() => Vec::new(),
            Some(draft) if self.contact.is_some() => draft.measured_doubts(),
            Some(draft) => draft.all_doubts(),
            None => Vec::new(),
        }
    }
}

impl Draft {
    /// What was heard of a field, if it is one that is heard.
    pub fn heard(&self, field: ContactField) -> Option<&Estimate<String>> {
        field.definition().heard(self)
    }

    /// Gives a contact what was heard of it, and nothing where nothing was heard.
    pub fn fill_heard(&self, contact: &mut Contact) {
        for definition in &FIELDS {
            if let Some(heard) = definition.heard(self) {
                definition.set_text(contact, heard.value.clone());
            }
        }
    }
}

#[cfg(test)]
mod tests;
