//! Whose log it is.

use crate::contact::Contact;
use crate::entry::Entry;

/// Whose log it is, as its owner wrote it down.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct OwnStation {
    /// The station's call sign.
    pub call: Option<String>,
    /// The operator's call sign.
    pub operator: Option<String>,
}

impl OwnStation {
    /// The entry's contact. One that was confirmed before the own call sign was
    /// configured gets the call sign and the operator now; a contact of another log is
    /// left as it is.
    pub fn signed(&self, entry: &Entry) -> Option<Contact> {
        let mut contact = entry.contact.clone()?;
        if !entry.imported && contact.station.is_none() {
            contact.station.clone_from(&self.call);
            contact.operator = contact.operator.or_else(|| self.operator.clone());
        }
        Some(contact)
    }
}
