//! The logbook: entries, and what is done with them. Every action of a person is one
//! transaction: after a crash either all of it is there or nothing.

mod action;
mod backup;
mod confirm;
mod duplicates;
mod export;
mod import;
mod open;
mod review;
mod search;
mod stamp;
mod store;
#[cfg(test)]
mod tests;
mod undo;
mod worked;

use std::path::{Path, PathBuf};
use std::time::Duration;

use chrono::{NaiveDate, Utc};
use rusqlite::{Connection, Transaction, TransactionBehavior};
use serde::{Serialize, de::DeserializeOwned};
use tempfile::TempDir;

use crate::LogbookError;

pub use backup::{RestoredLogbook, restore};
pub use confirm::EntryChange;
pub use duplicates::{DuplicateEntries, DuplicateReason};
pub use export::{NewExport, RecordedExport};
pub use import::{ImportConflict, ImportOutcome, ImportSummary};
pub use search::{EntryFilter, EntrySearch};
use stamp::{stamp, unstamp};
pub use store::StoredDrafts;
pub use undo::{LogbookAction, UndoneAction};
pub use worked::WorkedStation;

/// How long a command waits for another one that is writing.
const LOCK_TIMEOUT: Duration = Duration::from_secs(10);

/// An open logbook.
#[derive(Debug)]
pub struct Logbook {
    connection: Connection,
    path: PathBuf,
    tell: WarningHandler,
    /// The day (UTC) for which a backup was tried.
    backed_up: Option<NaiveDate>,
    /// The folder of the copy that is read, where the logbook itself cannot be.
    _copy: Option<TempDir>,
}

/// Receives what went wrong without stopping the work, such as a backup that failed.
pub type WarningHandler = fn(&LogbookError);

impl Logbook {
    /// Its file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Does all of an action, or nothing of it, after the backup of the day.
    fn transaction<T>(
        &mut self,
        doing: &'static str,
        action: impl FnOnce(&Transaction<'_>, &Path) -> Result<T, LogbookError>,
    ) -> Result<T, LogbookError> {
        self.back_up_today(Utc::now());
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

pub(crate) fn database(
    path: &Path,
    doing: &'static str,
) -> impl Fn(rusqlite::Error) -> LogbookError {
    move |cause| LogbookError::Database {
        path: path.to_owned(),
        doing,
        cause,
    }
}

fn to_json<T: Serialize>(value: &T, number: i64, path: &Path) -> Result<String, LogbookError> {
    serde_json::to_string(value).map_err(|source| LogbookError::Entry {
        path: path.to_owned(),
        number,
        source,
    })
}

fn from_json<T: DeserializeOwned>(text: &str, number: i64, path: &Path) -> Result<T, LogbookError> {
    serde_json::from_str(text).map_err(|source| LogbookError::Entry {
        path: path.to_owned(),
        number,
        source,
    })
}
