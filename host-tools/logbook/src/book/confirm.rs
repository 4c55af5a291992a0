//! Confirming an entry, and the history of its changes.

use serde::Serialize;

use super::action::{ActionWriter, EntryPart};
use super::{Logbook, database, from_json, to_json};
use crate::LogbookError;
use jumpseat_entries::{Contact, ContactField};

/// A change of an entry, as the history has it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct EntryChange {
    /// The action that it was a part of.
    pub action: i64,
    /// When, RFC 3339.
    pub at: String,
    /// "person", "draft" or "import".
    pub who: String,
    /// "entry", "draft", "contact" or "review".
    pub part: String,
    /// The part before, as JSON.
    pub before: Option<String>,
    /// The part after, as JSON.
    pub after: Option<String>,
}

/// What a person changed besides the call sign.
fn changed(before: &Contact, after: &Contact) -> String {
    let others = ContactField::editable().filter(|field| *field != ContactField::Call);
    let changes = others.filter(|field| field.text(before) != field.text(after));
    changes
        .map(|field| match field.text(after) {
            Some(text) => format!(", {} {text}", field.label()),
            None => format!(", no {}", field.label()),
        })
        .collect()
}

impl Logbook {
    /// Stores what a person confirmed, and drops the edits and the verdict of the review.
    /// Returns what was confirmed before.
    pub fn confirm(
        &mut self,
        number: i64,
        contact: &Contact,
    ) -> Result<Option<Contact>, LogbookError> {
        self.confirm_seen(number, None, contact)
    }

    /// As [`Logbook::confirm`], if the entry is still what the person saw
    /// ([`Logbook::seen`]).
    pub fn confirm_seen(
        &mut self,
        number: i64,
        seen: Option<i64>,
        contact: &Contact,
    ) -> Result<Option<Contact>, LogbookError> {
        self.transaction("store the contact", |change, path| {
            let mut act = ActionWriter::begin(change, path, "person");
            act.check_unchanged(number, seen)?;
            let before = act.current(number, EntryPart::Contact)?;
            let before: Option<Contact> = before
                .map(|text| from_json(&text, number, path))
                .transpose()?;
            if before.as_ref() != Some(contact) {
                act.set(
                    number,
                    EntryPart::Contact,
                    Some(&to_json(contact, number, path)?),
                )?;
            }
            let mut review = act.review(number)?;
            review.edits.clear();
            review.verdict = None;
            act.set_review(number, &review)?;
            act.finish(&match &before {
                None => format!("confirmed entry {number}: {}", contact.call),
                Some(before) => format!(
                    "corrected entry {number}: {}{}",
                    contact.call,
                    changed(before, contact)
                ),
            })?;
            Ok(before)
        })
    }

    /// Every change of an entry, the oldest first.
    pub fn history(&self, number: i64) -> Result<Vec<EntryChange>, LogbookError> {
        let failed = database(&self.path, "be read");
        let mut query = self
            .connection
            .prepare_cached(
                "SELECT action, at_utc, who, part, before, after
                 FROM changes JOIN actions ON actions.id = changes.action
                 WHERE number = ?1 ORDER BY changes.id",
            )
            .map_err(&failed)?;
        let rows = query
            .query_map([number], |row| {
                Ok(EntryChange {
                    action: row.get(0)?,
                    at: row.get(1)?,
                    who: row.get(2)?,
                    part: row.get(3)?,
                    before: row.get(4)?,
                    after: row.get(5)?,
                })
            })
            .map_err(&failed)?;
        rows.collect::<Result<_, _>>().map_err(failed)
    }
}
