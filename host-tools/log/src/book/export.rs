//! What went out, so that nothing goes out twice unless asked.

use chrono::Utc;

use super::{Logbook, database, stamp};
use crate::LogError;

/// An export that was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Export<'a> {
    /// Such as "adif".
    pub format: &'a str,
    /// The file.
    pub path: &'a str,
    /// Numbers and revisions of the entries in it.
    pub entries: &'a [(i64, i64)],
}

impl Logbook {
    /// Writes down that an export was written.
    pub fn record_export(&mut self, export: &Export<'_>) -> Result<(), LogError> {
        self.whole("record the export", |change, path| {
            let failed = database(path, "record the export");
            change
                .execute(
                    "INSERT INTO exports (at_utc, format, path) VALUES (?1, ?2, ?3)",
                    (stamp(Utc::now()), export.format, export.path),
                )
                .map_err(&failed)?;
            let id = change.last_insert_rowid();
            for (number, revision) in export.entries {
                change
                    .execute(
                        "INSERT INTO exported (export, number, revision) VALUES (?1, ?2, ?3)",
                        (id, number, revision),
                    )
                    .map_err(&failed)?;
            }
            Ok(())
        })
    }
}
