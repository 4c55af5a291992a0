//! What can go wrong with a logbook.

mod sqlite;

use std::io;
use std::path::{Path, PathBuf};

use jumpseat_files::FileError;
use rusqlite::ErrorCode;

use crate::backup_files::newest_backup;
use sqlite::words;

/// An error of the logbook; `Display` names the file and says what to do.
#[derive(Debug, thiserror::Error)]
pub enum LogbookError {
    /// SQLite could not do it.
    #[error("the logbook {path} could not {doing}: {why}", path = path.display(),
        why = words(cause))]
    Database {
        /// The logbook.
        path: PathBuf,
        /// What it was about to do.
        doing: &'static str,
        /// Why not.
        cause: rusqlite::Error,
    },
    /// There is something else in the logbook's place, or nothing where one was.
    #[error("{path} {why}{backup}", path = path.display(), why = why.explanation(), backup = newest(backup))]
    Unfit {
        /// Where the logbook should be.
        path: PathBuf,
        /// What is there.
        why: NotALogbook,
        /// The newest backup, where there is any.
        backup: Option<PathBuf>,
    },
    /// The file is there and cannot be read.
    #[error("the logbook {path} cannot be read: {source}. Check that you may read it and that the \
        disk works. No new one is made in its place", path = path.display())]
    Unreadable {
        /// The logbook.
        path: PathBuf,
        /// Why not.
        source: io::Error,
    },
    /// No copy of it could be made.
    #[error("the logbook {path} could not be copied into {folder}: {why}", path = path.display(),
        folder = folder.display(), why = words(cause))]
    Copy {
        /// The logbook.
        path: PathBuf,
        /// Where the copy was to be.
        folder: PathBuf,
        /// Why not.
        cause: rusqlite::Error,
    },
    /// A copy of it was made and is damaged.
    #[error("{path} is damaged: {found}. Try another backup", path = path.display())]
    NotWhole {
        /// What was copied.
        path: PathBuf,
        /// What SQLite found wrong first.
        found: String,
    },
    /// A backup could not be made, and the work continued without one.
    #[error("no backup of the logbook was made: {cause}. Your changes are stored all the same")]
    NoBackup {
        /// Why not.
        cause: Box<LogbookError>,
    },
    /// Another command has the logbook open.
    #[error("another jumpseat has the logbook {path} open; end it (the review page too), and try \
        again", path = path.display())]
    OpenElsewhere {
        /// The logbook.
        path: PathBuf,
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
    #[error("the logbook has no entry {number}; `jumpseat log` lists the entries")]
    NoEntry {
        /// As asked for.
        number: i64,
    },
    /// There is no such action, or none at all.
    #[error("there is {}; `jumpseat undo --list` lists the actions",
        action.map_or_else(|| "nothing to undo".to_owned(), |id| format!("no action {id}")))]
    NoAction {
        /// As asked for.
        action: Option<i64>,
    },
    /// The action was undone before.
    #[error("action {action} was undone by action {by} already; undo action {by} to do it again")]
    Undone {
        /// As asked for.
        action: i64,
        /// The action that undid it.
        by: i64,
    },
    /// A later action must be undone first.
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
    /// It changed since the person looked at it.
    #[error(
        "entry {number} was changed elsewhere since this was shown. Look at it again, then decide"
    )]
    Stale {
        /// The entry.
        number: i64,
    },
    /// Two entries cannot be joined.
    #[error("entries {first} and {second} cannot be joined: {why}")]
    NotJoined {
        /// The one that would stay.
        first: i64,
        /// The one that would go.
        second: i64,
        /// Why not, and what to do.
        why: &'static str,
    },
    /// An entry cannot be split.
    #[error("entry {number} cannot be taken apart: {why}")]
    NotSplit {
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
    #[error(transparent)]
    File(#[from] FileError),
}

/// What stands in a logbook's place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotALogbook {
    /// Nothing, and there are backups or changes of one.
    Missing,
    /// A file of no bytes.
    Empty,
    /// A folder, a pipe, a device.
    NoFile,
    /// A file of another kind.
    NoDatabase,
    /// A database without any table, and there are backups of one that had them.
    NoTables,
    /// A database of another program.
    Foreign,
}

impl NotALogbook {
    const fn explanation(self) -> &'static str {
        match self {
            Self::Missing => "is gone: there was a logbook, and no new one is made in its place",
            Self::Empty => {
                "has 0 bytes, and even an empty logbook has more: its content was lost, or something \
                 else made the file. If there never was a logbook, remove the file"
            }
            Self::NoFile => "is not a file. Move it away, or choose another place with --home",
            Self::NoDatabase => {
                "does not begin like a logbook. It is not a logbook, or it is damaged. Move it away, or \
                 choose another place with --home"
            }
            Self::NoTables => "is an empty database, and there was a logbook",
            Self::Foreign => {
                "is a database of another program, not a logbook. Move it away, or choose another place \
                 with --home"
            }
        }
    }
}

fn newest(backup: &Option<PathBuf>) -> String {
    match backup {
        Some(backup) => format!(". The newest backup is {}", backup.display()),
        None => String::new(),
    }
}

impl LogbookError {
    pub(crate) fn io(path: &Path, doing: &'static str) -> impl FnOnce(io::Error) -> Self {
        let failed = FileError::io(path, doing);
        move |source| Self::File(failed(source))
    }

    pub(crate) fn unfit(path: &Path, why: NotALogbook) -> Self {
        Self::Unfit {
            path: path.to_owned(),
            why,
            backup: newest_backup(path),
        }
    }

    pub(crate) fn foreign(path: &Path) -> Self {
        Self::unfit(path, NotALogbook::Foreign)
    }

    pub(crate) fn unreadable(path: &Path, source: io::Error) -> Self {
        Self::Unreadable {
            path: path.to_owned(),
            source,
        }
    }

    pub(crate) fn no_backup(cause: Self) -> Self {
        Self::NoBackup {
            cause: Box::new(cause),
        }
    }

    pub(crate) fn open_elsewhere(path: &Path) -> Self {
        Self::OpenElsewhere {
            path: path.to_owned(),
        }
    }

    fn code(&self) -> Option<ErrorCode> {
        match self {
            Self::Database { cause, .. } | Self::Copy { cause, .. } => cause.sqlite_error_code(),
            _ => None,
        }
    }

    /// Another command is writing, or has it open.
    pub(crate) fn is_busy(&self) -> bool {
        matches!(self, Self::OpenElsewhere { .. })
            || matches!(
                self.code(),
                Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked)
            )
    }

    /// It failed because it could not be written; reading alone may work.
    pub(crate) fn is_write_denied(&self) -> bool {
        match self {
            Self::File(error) => matches!(
                error.source.kind(),
                io::ErrorKind::PermissionDenied
                    | io::ErrorKind::ReadOnlyFilesystem
                    | io::ErrorKind::StorageFull
                    | io::ErrorKind::QuotaExceeded
            ),
            _ => matches!(
                self.code(),
                Some(
                    ErrorCode::ReadOnly
                        | ErrorCode::CannotOpen
                        | ErrorCode::PermissionDenied
                        | ErrorCode::DiskFull
                        | ErrorCode::SystemIoFailure
                )
            ),
        }
    }

    /// The logbook itself is lost or damaged, so that a backup helps.
    pub fn is_damage(&self) -> bool {
        match self {
            Self::Unfit { .. } | Self::Entry { .. } => true,
            _ => matches!(
                self.code(),
                Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase)
            ),
        }
    }

    /// As [`LogbookError::is_damage`], of this logbook.
    pub fn is_damage_of(&self, logbook: &Path) -> bool {
        let named = match self {
            Self::Unfit { path, .. } | Self::Entry { path, .. } | Self::Database { path, .. } => {
                path == logbook
            }
            _ => false,
        };
        named && self.is_damage()
    }
}
