//! Backups of the logbook: whole copies in a folder beside it.
//!
//! One is made before the first change of each day (UTC) and before the tables get a
//! newer form; daily ones are kept for seven days and then four weeks. Others are made
//! when a person asks, and before a backup replaces the logbook; only the person removes
//! these. Each is copied as of one instant, even while others write, then checked, synced,
//! and only then given its name.

mod restore;
mod rotation;

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::thread;
use std::time::{Duration, Instant};

use chrono::{DateTime, Utc};
use jumpseat_files::{
    UnfinishedFile, clear_unfinished, folder_of, make_private_folder, sync_folder,
};
use rusqlite::Connection;
use rusqlite::backup::{Backup as Copying, StepResult};

use super::{LOCK_TIMEOUT, Logbook};
use crate::backup_files::{
    BACKUP_EXTENSION, BackupReason, LogbookBackup, NAME_TIME_FORMAT, backup_folder, backups,
};
use crate::error::LogbookError;

pub use restore::{RestoredLogbook, restore};

/// Between two tries to copy what another command has locked.
const COPY_RETRY_PAUSE: Duration = Duration::from_millis(50);

impl Logbook {
    /// Makes a backup now: in the file that is named, which must not be there yet, or
    /// in the folder beside the logbook. Gives its path.
    ///
    /// # Errors
    /// If it cannot be written, or is damaged; no backup is left then.
    pub fn back_up(&self, to: Option<&Path>) -> Result<PathBuf, LogbookError> {
        match to {
            Some(path) => {
                let part = copy(&self.connection, &self.path, folder_of(path))?;
                part.finish_new(path)
                    .map_err(LogbookError::io(path, "make the backup"))?;
                sync_folder(folder_of(path))?;
                Ok(path.to_owned())
            }
            None => store(
                &self.connection,
                &self.path,
                BackupReason::Asked,
                Utc::now(),
            ),
        }
    }

    /// Makes the backup of a day before its first change, if there is something to lose. A
    /// failure is only a warning: it never stops what a person does.
    pub(super) fn back_up_today(&mut self, now: DateTime<Utc>) {
        let today = now.date_naive();
        if self.backed_up == Some(today) {
            return;
        }
        self.backed_up = Some(today);
        let made = self.is_backed_up(now).and_then(|done| {
            if !done {
                store(&self.connection, &self.path, BackupReason::Day, now)?;
            }
            Ok(())
        });
        if let Err(error) = made
            // Another command may have made it in the same second.
            && !self.is_backed_up(now).unwrap_or(false)
        {
            (self.tell)(&LogbookError::no_backup(error));
        }
    }

    /// Whether there is a backup of this day, or nothing to put into one.
    fn is_backed_up(&self, now: DateTime<Utc>) -> Result<bool, LogbookError> {
        let day = |backup: &LogbookBackup| {
            backup.why == BackupReason::Day && backup.at.date_naive() == now.date_naive()
        };
        if backups(&self.path)?.iter().any(day) {
            return Ok(true);
        }
        self.connection
            .query_row("SELECT NOT EXISTS (SELECT 1 FROM actions)", [], |row| {
                row.get(0)
            })
            .map_err(super::database(&self.path, "be read"))
    }
}

/// Makes a backup in the folder beside the logbook, and takes away those of days that
/// are past their time.
pub(super) fn store(
    connection: &Connection,
    logbook: &Path,
    why: BackupReason,
    now: DateTime<Utc>,
) -> Result<PathBuf, LogbookError> {
    let folder = backup_folder(logbook);
    make_private_folder(&folder)?;
    clear_unfinished(&folder);
    let part = copy(connection, logbook, &folder)?;
    let path = give_name(part, &folder, why, now)?;
    sync_folder(&folder)?;
    let there = backups(logbook)?;
    for old in rotation::expired(&there, &path) {
        match fs::remove_file(&old.path) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => {
                return Err(LogbookError::io(&old.path, "remove the old backup")(error));
            }
            _ => {}
        }
    }
    Ok(path)
}

/// Gives a backup its name; of two within a second the later one gets a number.
fn give_name(
    part: UnfinishedFile,
    folder: &Path,
    why: BackupReason,
    now: DateTime<Utc>,
) -> Result<PathBuf, LogbookError> {
    let stamp = now.format(NAME_TIME_FORMAT);
    let word = why.word();
    let mut number = 1;
    loop {
        let more = if number > 1 {
            format!("-{number}")
        } else {
            String::new()
        };
        let path = folder.join(format!("{stamp}-{word}{more}{BACKUP_EXTENSION}"));
        if !path.exists() {
            part.finish_new(&path)
                .map_err(LogbookError::io(&path, "make the backup"))?;
            return Ok(path);
        }
        number += 1;
    }
}

/// Copies a logbook as it stands at this instant into a file in a folder, and checks
/// and syncs the copy.
fn copy(
    connection: &Connection,
    logbook: &Path,
    folder: &Path,
) -> Result<UnfinishedFile, LogbookError> {
    let part =
        UnfinishedFile::file_in(folder).map_err(LogbookError::io(folder, "create a file in"))?;
    let failed = |cause| LogbookError::Copy {
        path: logbook.to_owned(),
        folder: folder.to_owned(),
        cause,
    };
    let mut target = Connection::open(part.path()).map_err(failed)?;
    // The copy is synced when it is complete, and has no name until then.
    target
        .pragma_update(None, "journal_mode", "OFF")
        .and_then(|()| target.pragma_update(None, "synchronous", "OFF"))
        .and_then(|()| copy_pages(connection, &mut target))
        .map_err(failed)?;
    seal(target, &part, logbook)?;
    Ok(part)
}

/// Copies every page, waiting for another command where it has to.
pub(super) fn copy_pages(from: &Connection, to: &mut Connection) -> rusqlite::Result<()> {
    let copying = Copying::new(from, to)?;
    let began = Instant::now();
    loop {
        match copying.step(-1)? {
            StepResult::Done => return Ok(()),
            StepResult::Busy | StepResult::Locked if began.elapsed() > LOCK_TIMEOUT => {
                return Err(rusqlite::Error::SqliteFailure(
                    rusqlite::ffi::Error::new(rusqlite::ffi::SQLITE_BUSY),
                    None,
                ));
            }
            _ => thread::sleep(COPY_RETRY_PAUSE),
        }
    }
}

/// Makes one file of a copy, without anything beside it, checks it and syncs it.
fn seal(copy: Connection, part: &UnfinishedFile, logbook: &Path) -> Result<(), LogbookError> {
    let failed = |cause| LogbookError::Copy {
        path: logbook.to_owned(),
        folder: folder_of(part.path()).to_owned(),
        cause,
    };
    copy.pragma_update(None, "journal_mode", "DELETE")
        .map_err(failed)?;
    let found: String = copy
        .query_row("PRAGMA quick_check(1)", [], |row| row.get(0))
        .map_err(failed)?;
    if found != "ok" {
        return Err(LogbookError::NotWhole {
            path: logbook.to_owned(),
            found,
        });
    }
    copy.close().map_err(|(_, cause)| failed(cause))?;
    part.file()
        .and_then(|file| file.sync_all())
        .map_err(LogbookError::io(part.path(), "sync"))
}
