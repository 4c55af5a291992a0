//! What can go wrong with a logbook.

use std::io;
use std::path::{Path, PathBuf};

/// An error of the logbook; `Display` names the file and says what to do.
#[derive(Debug, thiserror::Error)]
pub enum LogError {
    /// SQLite could not do it.
    #[error("the logbook {path} could not {doing}: {source}{hint}", path = path.display(),
        hint = hint(source))]
    Database {
        /// The logbook.
        path: PathBuf,
        /// What it was about to do.
        doing: &'static str,
        /// Why not.
        source: rusqlite::Error,
    },
    /// The logbook was written by a newer version.
    #[error(
        "the logbook {path} has form {found}; this version knows forms up to {known}. \
         Use a newer jumpseat, or another logbook with --home", path = path.display()
    )]
    Newer {
        /// The logbook.
        path: PathBuf,
        /// Its form.
        found: u32,
        /// The newest form known here.
        known: u32,
    },
    /// There is no such entry.
    #[error("the logbook has no entry {number}; the list of the log shows which there are")]
    NoEntry {
        /// As asked for.
        number: i64,
    },
    /// There is no such action, or none at all.
    #[error("there is {}; the list of what can be undone shows which actions there are",
        action.map_or_else(|| "nothing to undo".to_owned(), |id| format!("no action {id}")))]
    NoAction {
        /// As asked for.
        action: Option<i64>,
    },
    /// It was taken back before.
    #[error("action {action} was undone by action {by} already; undo action {by} to do it again")]
    Undone {
        /// As asked for.
        action: i64,
        /// The action that took it back.
        by: i64,
    },
    /// A later action stands in the way.
    #[error(
        "action {action} cannot be undone alone: entry {number} was changed by action {later} \
         since. Undo action {later} first"
    )]
    ChangedSince {
        /// As asked for.
        action: i64,
        /// The entry.
        number: i64,
        /// The last action that changed it.
        later: i64,
    },
    /// It is not any more what the person looked at.
    #[error(
        "entry {number} was changed elsewhere since this was shown. Look at it again, then decide"
    )]
    Stale {
        /// The entry.
        number: i64,
    },
    /// Two entries cannot become one.
    #[error("entries {first} and {second} cannot be joined: {why}")]
    NotJoined {
        /// The one that would stay.
        first: i64,
        /// The one that would go.
        second: i64,
        /// Why not, and what to do.
        why: &'static str,
    },
    /// An entry cannot be taken apart.
    #[error("entry {number} cannot be taken apart: {why}")]
    NotParted {
        /// The entry.
        number: i64,
        /// Why not, and what to do.
        why: &'static str,
    },
    /// What an entry holds cannot be read.
    #[error(
        "entry {number} of the logbook {path} cannot be read ({source}). Draft its trip again, \
         or restore the logbook from a backup", path = path.display()
    )]
    Entry {
        /// The logbook.
        path: PathBuf,
        /// Which entry.
        number: i64,
        /// Why.
        source: serde_json::Error,
    },
    /// A file could not be written.
    #[error("could not {doing} {path}: {source}. Check that the disk has room and that you may write there", path = path.display())]
    Io {
        /// The file or folder.
        path: PathBuf,
        /// What was done with it.
        doing: &'static str,
        /// Why it failed.
        source: io::Error,
    },
}

impl LogError {
    pub(crate) fn io(path: &Path, doing: &'static str) -> impl FnOnce(io::Error) -> Self {
        let path = path.to_owned();
        move |source| Self::Io {
            path,
            doing,
            source,
        }
    }
}

/// What to do about the commonest errors.
fn hint(source: &rusqlite::Error) -> &'static str {
    match source.sqlite_error_code() {
        Some(rusqlite::ErrorCode::DatabaseBusy | rusqlite::ErrorCode::DatabaseLocked) => {
            ". Another jumpseat is writing; wait for it and try again"
        }
        Some(rusqlite::ErrorCode::NotADatabase) => {
            ". It is no logbook; move it away, or choose another place with --home"
        }
        Some(rusqlite::ErrorCode::DatabaseCorrupt) => ". Restore it from a backup",
        Some(rusqlite::ErrorCode::DiskFull) => ". Make room on the disk and try again",
        Some(rusqlite::ErrorCode::CannotOpen | rusqlite::ErrorCode::ReadOnly) => {
            ". Check that you may write there"
        }
        _ => "",
    }
}
