//! A person's word on an entry.

use serde::Serialize;

use super::{Logbook, database, from_json, remember, stamp, to_json};
use crate::{Contact, LogError};

/// A change of an entry, as the history has it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Change {
    /// When, RFC 3339.
    pub at: String,
    /// "person" or "draft".
    pub who: String,
    /// What was before, as JSON.
    pub before: Option<String>,
    /// What is since, as JSON.
    pub after: Option<String>,
}

impl Logbook {
    /// Writes what a person confirmed; gives what was confirmed before.
    pub fn confirm(&mut self, number: i64, contact: &Contact) -> Result<Option<Contact>, LogError> {
        self.whole("store the contact", |change, path| {
            let failed = database(path, "store the contact");
            let known = change
                .query_row(
                    "SELECT contacts.data FROM entries LEFT JOIN contacts USING (number)
                     WHERE entries.number = ?1",
                    [number],
                    |row| row.get::<_, Option<String>>(0),
                )
                .map_err(|error| match error {
                    rusqlite::Error::QueryReturnedNoRows => LogError::NoEntry { number },
                    error => failed(error),
                })?;
            let before: Option<Contact> = known
                .as_deref()
                .map(|text| from_json(text, number, path))
                .transpose()?;
            if before.as_ref() == Some(contact) {
                return Ok(before);
            }
            let after = to_json(contact, number, path)?;
            change
                .execute(
                    "INSERT INTO contacts (number, revision, call, on_utc, data)
                     VALUES (?1, 1, ?2, ?3, ?4)
                     ON CONFLICT (number) DO UPDATE SET revision = revision + 1,
                     call = excluded.call, on_utc = excluded.on_utc, data = excluded.data",
                    (number, &contact.call, contact.on.map(stamp), &after),
                )
                .and_then(|_| remember(change, "person", number, known.as_deref(), Some(&after)))
                .map_err(failed)?;
            Ok(before)
        })
    }

    /// Every change of an entry, the oldest first.
    pub fn history(&self, number: i64) -> Result<Vec<Change>, LogError> {
        let failed = database(&self.path, "be read");
        let mut query = self
            .connection
            .prepare_cached(
                "SELECT at_utc, who, before, after FROM history WHERE number = ?1 ORDER BY id",
            )
            .map_err(&failed)?;
        let rows = query
            .query_map([number], |row| {
                Ok(Change {
                    at: row.get(0)?,
                    who: row.get(1)?,
                    before: row.get(2)?,
                    after: row.get(3)?,
                })
            })
            .map_err(&failed)?;
        rows.collect::<Result<_, _>>().map_err(failed)
    }
}
