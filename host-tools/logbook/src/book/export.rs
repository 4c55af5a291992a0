//! Records what was exported, so that nothing is exported twice unless asked.

use chrono::Utc;
use rusqlite::OptionalExtension as _;
use serde::Serialize;

use super::{Logbook, database, stamp};
use crate::LogbookError;

/// An export to record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewExport<'a> {
    /// Such as "adif".
    pub format: &'a str,
    /// The file.
    pub path: &'a str,
    /// Numbers and revisions of the entries in it.
    pub entries: &'a [(i64, i64)],
}

/// A recorded export.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RecordedExport {
    /// When, RFC 3339.
    pub at: String,
    /// Such as "adif".
    pub format: String,
    /// The file, as it was named then.
    pub path: String,
    /// How many contacts.
    pub contacts: u64,
}

impl Logbook {
    /// Records that an export was written.
    pub fn record_export(&mut self, export: &NewExport<'_>) -> Result<(), LogbookError> {
        self.transaction("record the export", |change, path| {
            let failed = database(path, "record the export");
            change
                .execute(
                    "INSERT INTO exports (at_utc, format, path) VALUES (?1, ?2, ?3)",
                    (stamp(Utc::now()), export.format, export.path),
                )
                .map_err(&failed)?;
            let id = change.last_insert_rowid();
            for &(number, revision) in export.entries {
                change
                    .prepare_cached("SELECT 1 FROM entries WHERE number = ?1")
                    .and_then(|mut query| query.query_row([number], |_| Ok(())).optional())
                    .map_err(&failed)?
                    .ok_or(LogbookError::NoEntry { number })?;
                change
                    .prepare_cached(
                        "INSERT INTO sent (export, number, revision, format) VALUES (?1, ?2, ?3, ?4)",
                    )
                    .and_then(|mut sent| sent.execute((id, number, revision, export.format)))
                    .map_err(&failed)?;
            }
            Ok(())
        })
    }

    /// All exports, the newest first.
    pub fn exports(&self) -> Result<Vec<RecordedExport>, LogbookError> {
        let failed = database(&self.path, "be read");
        let mut query = self
            .connection
            .prepare_cached(
                "SELECT at_utc, format, path,
                 (SELECT count(*) FROM sent WHERE sent.export = exports.id)
                 FROM exports ORDER BY id DESC",
            )
            .map_err(&failed)?;
        let rows = query
            .query_map([], |row| {
                Ok(RecordedExport {
                    at: row.get(0)?,
                    format: row.get(1)?,
                    path: row.get(2)?,
                    contacts: row.get(3)?,
                })
            })
            .map_err(&failed)?;
        rows.collect::<Result<_, _>>().map_err(failed)
    }
}
