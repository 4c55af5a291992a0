//! What an entry says: what a person confirmed, or else what was drafted.

use jumpseat_place::mode;
use jumpseat_values::{DialDoubt, Doubt, Estimate};

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
