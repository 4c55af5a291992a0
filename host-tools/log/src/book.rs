//! The logbook: entries, and what is done with them. Every action of a person is
//! one transaction: after a crash it is whole or it never was.

mod action;
mod confirm;
mod duplicates;
mod export;
mod import;
mod list;
mod review;
mod stamp;
mod store;
#[cfg(test)]
mod tests;
mod undo;
mod worked;

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

use rusqlite::{Connection, Transaction, TransactionBehavior};
use serde::{Serialize, de::DeserializeOwned};

use crate::{Contact, Draft, LogError, schema};

pub use confirm::Change;
pub use duplicates::{Pair, Why};
pub use export::{Export, Exported};
pub use import::{Imported, Retold};
pub use list::{Filter, Search};
pub use review::{Review, Verdict};
use stamp::{stamp, unstamp};
pub use store::Stored;
pub use undo::{Action, Undone};
pub use worked::Worked;

/// How long a command waits for another one that is writing.
const PATIENCE: Duration = Duration::from_secs(10);

/// An open logbook.
#[derive(Debug)]
pub struct Logbook {
    connection: Connection,
    path: PathBuf,
}

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
    #[serde(skip_serializing_if = "Review::is_empty")]
    pub review: Review,
}

impl Entry {
    /// A person said that it is no contact; it stays in the list and counts nowhere.
    pub fn is_no_contact(&self) -> bool {
        self.contact.is_none() && self.review.verdict == Some(Verdict::NotAContact)
    }
}

impl Logbook {
    /// Opens a logbook and brings it to the newest form; makes an empty one, and
    /// its folder, where there is none.
    pub fn open(path: &Path) -> Result<Self, LogError> {
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).map_err(LogError::io(folder, "create the folder"))?;
        }
        let failed = |source| LogError::Database {
            path: path.to_owned(),
            doing: "be opened",
            source,
        };
        let mut connection = Connection::open(path).map_err(failed)?;
        connection.busy_timeout(PATIENCE).map_err(failed)?;
        // Readers and one writer side by side; synced at every commit.
        connection
            .pragma_update(None, "journal_mode", "WAL")
            .and_then(|()| connection.pragma_update(None, "synchronous", "FULL"))
            .and_then(|()| connection.pragma_update(None, "foreign_keys", true))
            // 32 MB of pages in memory: a large import does not read its own pages back.
            .and_then(|()| connection.pragma_update(None, "cache_size", -32_000))
            .map_err(failed)?;
        schema::migrate(&mut connection, path, schema::STEPS)?;
        Ok(Self {
            connection,
            path: path.to_owned(),
        })
    }

    /// Its file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Does all of an action, or nothing of it.
    fn whole<T>(
        &mut self,
        doing: &'static str,
        action: impl FnOnce(&Transaction<'_>, &Path) -> Result<T, LogError>,
    ) -> Result<T, LogError> {
        let failed = database(&self.path, doing);
        let change = self
            .connection
            .transaction_with_behavior(TransactionBehavior::Immediate)
            .map_err(&failed)?;
        let done = action(&change, &self.path)?;
        change.commit().map_err(failed)?;
        Ok(done)
    }
}

fn database(path: &Path, doing: &'static str) -> impl Fn(rusqlite::Error) -> LogError {
    move |source| LogError::Database {
        path: path.to_owned(),
        doing,
        source,
    }
}

fn to_json<T: Serialize>(value: &T, number: i64, path: &Path) -> Result<String, LogError> {
    serde_json::to_string(value).map_err(|source| LogError::Entry {
        path: path.to_owned(),
        number,
        source,
    })
}

fn from_json<T: DeserializeOwned>(text: &str, number: i64, path: &Path) -> Result<T, LogError> {
    serde_json::from_str(text).map_err(|source| LogError::Entry {
        path: path.to_owned(),
        number,
        source,
    })
}
