//! Backups of the logbook: whole copies in a folder beside it.
//!
//! One is made before the first change of each day (UTC) and before the tables get a
//! newer form; of those of days seven days and then four weeks are kept. Others are
//! made when a person asks, and before a logbook is replaced by a backup; these are
//! removed by nobody but the person. Each is copied as it stood at one instant, whoever
//! else writes meanwhile, checked, synced, and only then given its name.

mod restore;
mod rotation;

use std::cmp::Reverse;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::thread;
use std::time::{Duration, Instant};

use chrono::{DateTime, NaiveDateTime, Utc};
use rusqlite::Connection;
use rusqlite::backup::{Backup as Copying, StepResult};
use serde::Serialize;

use super::{LOCK_TIMEOUT, Logbook};
use crate::LogbookError;
use jumpseat_files::{
    UnfinishedFile, clear_unfinished, folder_of, make_private_folder, sync_folder,
};

pub use restore::{RestoredLogbook, restore};

/// What stands behind the logbook's name in that of the folder.
const BACKUP_FOLDER_SUFFIX: &str = "-backups";

const BACKUP_EXTENSION: &str = ".sqlite";

/// How a backup's time is written in its name.
const NAME_TIME_FORMAT: &str = "%Y%m%dT%H%M%SZ";

/// Between two tries to copy what another command has locked.
const COPY_RETRY_PAUSE: Duration = Duration::from_millis(50);

/// A backup that is there.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LogbookBackup {
    /// Its file.
    pub path: PathBuf,
    /// When it was made.
    pub at: DateTime<Utc>,
    /// Why it was made.
    pub why: BackupReason,
    /// Its length.
    pub bytes: u64,
}

/// Why a backup was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum BackupReason {
    /// Before the first change of a day.
    Day,
    /// Before the tables got a newer form.
    Upgrade,
    /// A person asked for it.
    Asked,
    /// A backup took the logbook's place, and this is what was there; it may be
    /// damaged.
    Replaced,
}

impl BackupReason {
    const ALL: [Self; 4] = [Self::Day, Self::Upgrade, Self::Asked, Self::Replaced];

    /// As it stands in names.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Day => "day",
            Self::Upgrade => "upgrade",
            Self::Asked => "asked",
            Self::Replaced => "replaced",
        }
    }
}

/// The folder of a logbook's backups.
pub fn backup_folder(logbook: &Path) -> PathBuf {
    let mut name = logbook.file_stem().unwrap_or_default().to_owned();
    name.push(BACKUP_FOLDER_SUFFIX);
    logbook.with_file_name(name)
}

/// The backups of a logbook, the newest first.
///
/// # Errors
/// When their folder is there and cannot be listed.
pub fn backups(logbook: &Path) -> Result<Vec<LogbookBackup>, LogbookError> {
    let folder = backup_folder(logbook);
    let cannot = |error| LogbookError::io(&folder, "list")(error);
    let listing = match fs::read_dir(&folder) {
        Ok(listing) => listing,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(error) => return Err(cannot(error)),
    };
    let mut found = Vec::new();
    for entry in listing {
        let entry = entry.map_err(cannot)?;
        let name = entry.file_name();
        let Some((at, why)) = name.to_str().and_then(parse_name) else {
            continue;
        };
        // Another command may take it away meanwhile.
        if let Ok(data) = entry.metadata()
            && data.is_file()
        {
            let backup = LogbookBackup {
                path: entry.path(),
                at,
                why,
                bytes: data.len(),
            };
            // Names tell the second; within one, files know which came later.
            found.push((at, data.modified().ok(), backup));
        }
    }
    found.sort_by_key(|(at, modified, _)| Reverse((*at, *modified)));
    Ok(found.into_iter().map(|(.., backup)| backup).collect())
}

/// The newest backup that may be put in the logbook's place.
pub(crate) fn newest_backup(logbook: &Path) -> Option<PathBuf> {
    let mut found = backups(logbook).unwrap_or_default();
    found.retain(|backup| backup.why != BackupReason::Replaced);
    found.into_iter().next().map(|backup| backup.path)
}

/// What a backup's name says, such as `20260514T150421Z-day.sqlite`; a number may stand
/// behind the reason.
fn parse_name(name: &str) -> Option<(DateTime<Utc>, BackupReason)> {
    let (stamp, rest) = name.strip_suffix(BACKUP_EXTENSION)?.split_once('-')?;
    let at = NaiveDateTime::parse_from_str(stamp, NAME_TIME_FORMAT)
        .ok()?
        .and_utc();
    let word = rest.split('-').next()?;
    let why = BackupReason::ALL
        .into_iter()
        .find(|why| why.word() == word)?;
    Some((at, why))
}

impl Logbook {
    /// Makes a backup now: in the file that is named, which must not be there yet, or
    /// in the folder beside the logbook. Gives its path.
    ///
    /// # Errors
    /// When it cannot be written, or is not whole; then there is none.
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

    /// Makes the backup of a day before its first change, where there is something to
    /// lose. It never stands in the way of what a person does: a failure is told.
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

/// Gives a backup its name; two within a second get a number.
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
    // The copy is synced as a whole, and has no name until then.
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
