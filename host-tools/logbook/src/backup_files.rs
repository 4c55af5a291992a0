//! The files of a logbook's backups: where they are, and what their names say.

use std::cmp::Reverse;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use chrono::{DateTime, NaiveDateTime, Utc};
use jumpseat_files::FileError;
use serde::Serialize;

/// What stands behind the logbook's name in that of the folder.
const BACKUP_FOLDER_SUFFIX: &str = "-backups";

/// How a backup's name ends.
pub(crate) const BACKUP_EXTENSION: &str = ".sqlite";

/// How a backup's time is written in its name.
pub(crate) const NAME_TIME_FORMAT: &str = "%Y%m%dT%H%M%SZ";

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
pub fn backups(logbook: &Path) -> Result<Vec<LogbookBackup>, FileError> {
    let folder = backup_folder(logbook);
    let cannot = |error| FileError::io(&folder, "list")(error);
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
            // A name has whole seconds; within one, the file's time decides.
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
