//! An entry of the logbook, and what a person does with it on the way to a decision.

use serde::{Deserialize, Serialize};

use crate::contact::Contact;
use crate::draft::Draft;
use crate::edits::Edits;

/// One entry.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Entry {
    /// What a person types.
    pub number: i64,
    /// Name of the trip it was drafted from.
    pub trip: Option<String>,
    /// What was drafted.
    pub draft: Option<Draft>,
    /// What a person confirmed.
    pub contact: Option<Contact>,
    /// Counts the changes of the contact from 1; 0 where there is none.
    pub revision: i64,
    /// It came with an import.
    pub imported: bool,
    /// What a person said of it on the way to a decision.
    #[serde(skip_serializing_if = "EntryReview::is_empty")]
    pub review: EntryReview,
}

impl Entry {
    /// A person said that it is no contact; it stays in the list and counts nowhere.
    pub fn is_no_contact(&self) -> bool {
        self.contact.is_none() && self.review.verdict == Some(EntryVerdict::NotAContact)
    }
}

/// What a person decided of an entry that is no contact yet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum EntryVerdict {
    /// Put off.
    Later,
    /// It is none. The entry stays, so that the next draft does not find it anew.
    NotAContact,
}

/// What a person said of an entry so far.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct EntryReview {
    /// What was typed over the draft or the contact, and is not confirmed yet.
    #[serde(default, rename = "said", skip_serializing_if = "Edits::is_empty")]
    pub edits: Edits,
    /// What was decided in place of a confirmation.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub verdict: Option<EntryVerdict>,
    /// A person joined it with another entry or took it apart: a new draft of the
    /// trip leaves it as it is.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub shaped: bool,
}

impl EntryReview {
    /// Nobody said anything.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}
