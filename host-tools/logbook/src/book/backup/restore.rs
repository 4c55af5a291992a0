//! Puts a backup in the logbook's place.
//!
//! In this order, so that a crash at any step leaves a complete logbook, the old one or
//! the backup: the backup is copied beside the logbook and checked; what is there is kept
//! among the backups, synced; the files that SQLite put beside it are removed, because
//! they would be applied to the new one; then the copy takes the logbook's name.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

use chrono::Utc;
use rusqlite::Connection;
use serde::Serialize;

use super::{give_name, seal, store};
use crate::backup_files::{BackupReason, backup_folder};
use crate::book::database;
use crate::schema::{self, DatabaseKind};
use crate::{EntryFilter, EntrySearch, Logbook, LogbookError};
use jumpseat_files::{
    DATABASE_COMPANIONS, UnfinishedFile, clear_unfinished, folder_of, make_private_folder,
    resolve_link, sync_folder, with_suffix,
};

/// How long to wait for a command that has the logbook open.
const RESTORE_LOCK_TIMEOUT: Duration = Duration::from_secs(3);

/// What was restored.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RestoredLogbook {
    /// What was there before; `None` where there was nothing.
    pub kept: Option<PathBuf>,
    /// Entries of the logbook now.
    pub entries: u64,
    /// The time of its last action, RFC 3339.
    pub last: Option<String>,
}

/// Puts the backup `from` in the place of the logbook. The backup stays.
///
/// # Errors
/// If the backup is damaged or no logbook, or has a newer form; if another command has the
/// logbook open; if a file cannot be written. Then the logbook is unchanged.
pub fn restore(logbook: &Path, from: &Path) -> Result<RestoredLogbook, LogbookError> {
    let place = resolve_link(logbook);
    let folder = folder_of(&place);
    make_private_folder(folder)?;
    clear_unfinished(folder);
    let part = checked(folder, from)?;
    let kept = keep_aside(logbook)?;
    for word in DATABASE_COMPANIONS {
        let path = with_suffix(&place, word);
        match fs::remove_file(&path) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => {
                return Err(LogbookError::io(&path, "remove")(error));
            }
            _ => {}
        }
    }
    sync_folder(folder)?;
    part.finish(&place)
        .map_err(LogbookError::io(logbook, "replace"))?;
    sync_folder(folder)?;
    let restored = Logbook::open(logbook)?;
    Ok(RestoredLogbook {
        kept,
        entries: restored.count_found(&EntrySearch::by_filter(EntryFilter::All))?,
        last: restored
            .actions(1)?
            .into_iter()
            .next()
            .map(|action| action.at),
    })
}

/// A checked copy of the backup in the logbook's folder.
fn checked(folder: &Path, from: &Path) -> Result<UnfinishedFile, LogbookError> {
    let part =
        UnfinishedFile::file_in(folder).map_err(LogbookError::io(folder, "create a file in"))?;
    carry(from, part.path())?;
    // The last changes may lie beside a copy that was made by hand.
    let log = with_suffix(from, DATABASE_COMPANIONS[1]);
    if fs::metadata(&log).is_ok_and(|data| data.len() > 0) {
        carry(&log, &with_suffix(part.path(), DATABASE_COMPANIONS[1]))?;
    }
    schema::look_at_file(part.path(), from)?;
    let copy = Connection::open(part.path()).map_err(database(from, "be opened"))?;
    match schema::kind(&copy, from)? {
        DatabaseKind::Logbook(_) => {}
        DatabaseKind::Nothing | DatabaseKind::Foreign => return Err(LogbookError::foreign(from)),
    }
    seal(copy, &part, from)?;
    Ok(part)
}

/// Copies bytes as they are, and syncs them.
fn carry(from: &Path, to: &Path) -> Result<(), LogbookError> {
    fs::copy(from, to).map_err(LogbookError::io(from, "copy"))?;
    private(to)
        .and_then(|()| File::options().write(true).open(to))
        .and_then(|file| file.sync_all())
        .map_err(LogbookError::io(to, "write"))
}

/// A copy has the permissions of its original.
#[cfg(unix)]
fn private(path: &Path) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    fs::set_permissions(path, fs::Permissions::from_mode(0o600))
}

#[cfg(not(unix))]
fn private(_: &Path) -> io::Result<()> {
    Ok(())
}

/// Keeps what is in the logbook's place among the backups: a sound logbook as a backup,
/// anything else byte for byte.
fn keep_aside(logbook: &Path) -> Result<Option<PathBuf>, LogbookError> {
    if fs::symlink_metadata(logbook).is_err_and(|error| error.kind() == io::ErrorKind::NotFound) {
        return Ok(None);
    }
    match keep_whole(logbook) {
        Ok(kept) => return Ok(Some(kept)),
        // A command that has it open would write into what was kept aside.
        Err(error) if error.is_busy() => return Err(LogbookError::open_elsewhere(logbook)),
        // It is damaged, which is why it is replaced.
        Err(_) => {}
    }
    let folder = backup_folder(logbook);
    make_private_folder(&folder)?;
    let part =
        UnfinishedFile::file_in(&folder).map_err(LogbookError::io(&folder, "create a file in"))?;
    carry(logbook, part.path())?;
    let kept = give_name(part, &folder, BackupReason::Replaced, Utc::now())?;
    for word in DATABASE_COMPANIONS {
        let path = with_suffix(&resolve_link(logbook), word);
        if fs::metadata(&path).is_ok_and(|data| data.len() > 0) {
            carry(&path, &with_suffix(&kept, word))?;
        }
    }
    sync_folder(&folder)?;
    Ok(Some(kept))
}

fn keep_whole(logbook: &Path) -> Result<PathBuf, LogbookError> {
    schema::look_at_file(logbook, logbook)?;
    let failed = database(logbook, "be kept aside");
    let present = Connection::open(logbook).map_err(&failed)?;
    present
        .busy_timeout(RESTORE_LOCK_TIMEOUT)
        .map_err(&failed)?;
    // Refused while anybody else has it open; takes in what lies beside it.
    let mode: String = present
        .query_row("PRAGMA journal_mode = DELETE", [], |row| row.get(0))
        .map_err(&failed)?;
    if mode != "delete" {
        return Err(LogbookError::open_elsewhere(logbook));
    }
    store(&present, logbook, BackupReason::Replaced, Utc::now())
}
