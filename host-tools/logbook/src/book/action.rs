//! Writes one action: its changes, and each part of an entry.

use std::path::Path;

use chrono::Utc;
use rusqlite::{OptionalExtension as _, Transaction};
use serde::{Deserialize, Serialize};

use super::{database, from_json, stamp, to_json};
use crate::LogbookError;
use jumpseat_entries::{Contact, home_call};

/// What of an entry was changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum EntryPart {
    /// Its existence and origin.
    Entry,
    Draft,
    Contact,
    Review,
}

impl EntryPart {
    pub(super) const fn name(self) -> &'static str {
        match self {
            Self::Entry => "entry",
            Self::Draft => "draft",
            Self::Contact => "contact",
            Self::Review => "review",
        }
    }

    /// The part that the history names so.
    pub(super) fn from_name(word: &str) -> Self {
        match word {
            "entry" => Self::Entry,
            "draft" => Self::Draft,
            "review" => Self::Review,
            _ => Self::Contact,
        }
    }
}

/// Where an entry comes from.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub(super) struct EntryOrigin {
    pub(super) trip: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) import: Option<i64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) digest: Option<String>,
}

/// An action in progress. It enters the history with its first change.
pub(super) struct ActionWriter<'a> {
    pub(super) change: &'a Transaction<'a>,
    pub(super) path: &'a Path,
    who: &'static str,
    id: Option<i64>,
}

impl<'a> ActionWriter<'a> {
    pub(super) fn begin(change: &'a Transaction<'a>, path: &'a Path, who: &'static str) -> Self {
        Self {
            change,
            path,
            who,
            id: None,
        }
    }

    fn failed(&self) -> impl Fn(rusqlite::Error) -> LogbookError {
        database(self.path, "write the change")
    }

    /// Makes an entry and returns its number.
    pub(super) fn new_entry(&mut self, origin: &EntryOrigin) -> Result<i64, LogbookError> {
        self.change
            .prepare_cached("INSERT INTO entries (trip, import, digest) VALUES (?1, ?2, ?3)")
            .and_then(|mut new| new.execute((&origin.trip, origin.import, &origin.digest)))
            .map_err(self.failed())?;
        let number = self.change.last_insert_rowid();
        let after = to_json(origin, number, self.path)?;
        self.record_change(number, EntryPart::Entry, None, Some(&after))?;
        Ok(number)
    }

    /// Sets a part of an entry, and records what was there before.
    pub(super) fn set(
        &mut self,
        number: i64,
        part: EntryPart,
        after: Option<&str>,
    ) -> Result<(), LogbookError> {
        let before = self.current(number, part)?;
        if before.as_deref() == after {
            return Ok(());
        }
        self.write(number, part, after)?;
        self.record_change(number, part, before.as_deref(), after)
    }

    /// The stored value of a part.
    pub(super) fn current(
        &self,
        number: i64,
        part: EntryPart,
    ) -> Result<Option<String>, LogbookError> {
        let query = match part {
            EntryPart::Entry => {
                let origin = self
                    .change
                    .prepare_cached("SELECT trip, import, digest FROM entries WHERE number = ?1")
                    .and_then(|mut query| {
                        let origin = query.query_row([number], |row| {
                            Ok(EntryOrigin {
                                trip: row.get(0)?,
                                import: row.get(1)?,
                                digest: row.get(2)?,
                            })
                        });
                        origin.optional()
                    })
                    .map_err(self.failed())?;
                return origin
                    .map(|origin| to_json(&origin, number, self.path))
                    .transpose();
            }
            EntryPart::Draft => "SELECT data FROM drafts WHERE number = ?1",
            EntryPart::Contact => "SELECT data FROM contacts WHERE number = ?1",
            EntryPart::Review => "SELECT data FROM reviews WHERE number = ?1",
        };
        self.change
            .prepare_cached(query)
            .and_then(|mut query| query.query_row([number], |row| row.get(0)).optional())
            .map_err(self.failed())
    }

    fn write(&self, number: i64, part: EntryPart, after: Option<&str>) -> Result<(), LogbookError> {
        let failed = self.failed();
        let done = match (part, after) {
            (EntryPart::Entry, None) => self
                .change
                .prepare_cached("DELETE FROM entries WHERE number = ?1")
                .and_then(|mut delete| delete.execute([number])),
            (EntryPart::Draft, None) => self
                .change
                .prepare_cached("DELETE FROM drafts WHERE number = ?1")
                .and_then(|mut delete| delete.execute([number])),
            (EntryPart::Contact, None) => self
                .change
                .prepare_cached("DELETE FROM contacts WHERE number = ?1")
                .and_then(|mut delete| delete.execute([number])),
            (EntryPart::Review, None) => self
                .change
                .prepare_cached("DELETE FROM reviews WHERE number = ?1")
                .and_then(|mut delete| delete.execute([number])),
            (EntryPart::Review, Some(text)) => self
                .change
                .prepare_cached(
                    "INSERT INTO reviews (number, data) VALUES (?1, ?2)
                     ON CONFLICT (number) DO UPDATE SET data = excluded.data",
                )
                .and_then(|mut put| put.execute((number, text))),
            (EntryPart::Entry, Some(text)) => {
                let origin: EntryOrigin = from_json(text, number, self.path)?;
                self.change.execute(
                    "INSERT INTO entries (number, trip, import, digest) VALUES (?1, ?2, ?3, ?4)",
                    (number, origin.trip, origin.import, origin.digest),
                )
            }
            (EntryPart::Draft, Some(text)) => self
                .change
                .prepare_cached(
                    "INSERT INTO drafts (number, on_s, data)
                     VALUES (?1, coalesce(?2 ->> '$.on_s', 0.0), ?2)
                     ON CONFLICT (number) DO UPDATE SET on_s = excluded.on_s, data = excluded.data",
                )
                .and_then(|mut put| put.execute((number, text))),
            (EntryPart::Contact, Some(text)) => {
                let contact: Contact = from_json(text, number, self.path)?;
                // The revision counts changes and never goes back, whatever is undone.
                self.change
                    .prepare_cached(
                        "INSERT INTO contacts
                         (number, revision, call, home, on_utc, data, band, mode)
                         VALUES (?1, 1 + (SELECT count(*) FROM changes
                                          WHERE number = ?1 AND part = 'contact'),
                                 ?2, ?3, ?4, ?5, ?6, ?7)
                         ON CONFLICT (number) DO UPDATE SET revision = excluded.revision,
                         call = excluded.call, home = excluded.home, on_utc = excluded.on_utc,
                         data = excluded.data, band = excluded.band, mode = excluded.mode",
                    )
                    .and_then(|mut put| {
                        let home = home_call(&contact.call);
                        put.execute((
                            number,
                            &contact.call,
                            home,
                            contact.on.map(stamp),
                            text,
                            &contact.band,
                            &contact.mode,
                        ))
                    })
            }
        };
        done.map(|_| ()).map_err(failed)
    }

    fn record_change(
        &mut self,
        number: i64,
        part: EntryPart,
        before: Option<&str>,
        after: Option<&str>,
    ) -> Result<(), LogbookError> {
        let id = self.id()?;
        self.change
            .prepare_cached(
                "INSERT INTO changes (action, number, part, before, after)
                 VALUES (?1, ?2, ?3, ?4, ?5)",
            )
            .and_then(|mut note| note.execute((id, number, part.name(), before, after)))
            .map(|_| ())
            .map_err(self.failed())
    }

    /// The action's number in the history.
    pub(super) fn id(&mut self) -> Result<i64, LogbookError> {
        if let Some(id) = self.id {
            return Ok(id);
        }
        self.change
            .execute(
                "INSERT INTO actions (at_utc, who, what) VALUES (?1, ?2, '')",
                (stamp(Utc::now()), self.who),
            )
            .map_err(self.failed())?;
        let id = self.change.last_insert_rowid();
        self.id = Some(id);
        Ok(id)
    }

    /// Ends the action with a description for people. Returns its number if it changed
    /// anything.
    pub(super) fn finish(self, what: &str) -> Result<Option<i64>, LogbookError> {
        if let Some(id) = self.id {
            self.change
                .execute("UPDATE actions SET what = ?2 WHERE id = ?1", (id, what))
                .map_err(self.failed())?;
        }
        Ok(self.id)
    }
}
