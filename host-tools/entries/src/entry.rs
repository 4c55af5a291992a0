//! An entry of the logbook, and how far a person is with it.

use serde::{Deserialize, Serialize};

use crate::contact::Contact;
use crate::draft::Draft;
use crate::edits::Edits;

/// One entry.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Entry {
    /// Its number, which a person types.
    pub number: i64,
    /// Name of the trip it was drafted from.
    pub trip: Option<String>,
    /// What was drafted.
    pub draft: Option<Draft>,
    /// What a person confirmed.
    pub contact: Option<Contact>,
    /// Counts the changes of the contact from 1; 0 without a contact.
    pub revision: i64,
    /// It came with an import.
    pub imported: bool,
    /// What a person did with it before confirming it.
    #[serde(skip_serializing_if = "EntryReview::is_empty")]
    pub review: EntryReview,
}

impl Entry {
    /// A person called it no contact. It stays in the list and is never counted.
    pub fn is_no_contact(&self) -> bool {
        self.contact.is_none() && self.review.verdict == Some(EntryVerdict::NotAContact)
    }
}

/// What a person decided about an entry instead of confirming it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum EntryVerdict {
    /// Put off.
    Later,
    /// It is no contact. The entry stays, so that the next draft does not add it again.
    NotAContact,
}

/// What a person did with an entry before confirming it.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct EntryReview {
    /// What was typed over the draft or the contact, and is not confirmed yet.
    #[serde(default, rename = "said", skip_serializing_if = "Edits::is_empty")]
    pub edits: Edits,
    /// What was decided instead.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub verdict: Option<EntryVerdict>,
    /// A person joined it with another entry or split it: a new draft of the trip
    /// leaves it as it is.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub shaped: bool,
}

impl EntryReview {
    /// Nothing was done.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}
