//! Opens a logbook, to write or only to read, also where nothing can be written. A file
//! that is not a logbook is never taken for an empty one.

use std::ffi::OsString;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use chrono::Utc;
use rusqlite::{Connection, OpenFlags};
use tempfile::TempDir;

use super::backup;
use super::{LOCK_TIMEOUT, Logbook, WarningHandler, database};
use crate::backup_files::{BackupReason, newest_backup};
use crate::schema::{self, DatabaseKind};
use crate::{LogbookError, NotALogbook};
use jumpseat_files::{
    DATABASE_COMPANIONS, UnfinishedFile, clear_unfinished, folder_of, make_private_folder,
    resolve_link, sync_folder, with_suffix,
};

impl Logbook {
    /// Whether there is a logbook.
    ///
    /// # Errors
    /// [`LogbookError::Unfit`] where there is something else, or nothing where there was one;
    /// [`LogbookError::Unreadable`].
    pub fn is_there(path: &Path) -> Result<bool, LogbookError> {
        is_there(path)
    }

    /// Opens a logbook and brings it to the newest form; makes an empty one, and
    /// its folder, where there never was one. Warnings are dropped.
    ///
    /// # Errors
    /// As [`Logbook::open_with_warnings`].
    pub fn open(path: &Path) -> Result<Self, LogbookError> {
        Self::open_with_warnings(path, |_| ())
    }

    /// Opens a logbook as [`Logbook::open`] does, and warns of what fails without stopping
    /// the work, such as a backup that could not be made.
    ///
    /// # Errors
    /// [`LogbookError::Unfit`] where there is something else than a logbook, or nothing where
    /// one was before; [`LogbookError::Newer`]; and where it cannot be read or written.
    pub fn open_with_warnings(path: &Path, tell: WarningHandler) -> Result<Self, LogbookError> {
        if !is_there(path)? {
            make(path)?;
        }
        let failed = database(path, "be opened");
        let mut connection = Connection::open(path).map_err(&failed)?;
        connection.busy_timeout(LOCK_TIMEOUT).map_err(&failed)?;
        // Before anything of it is changed.
        refuse_others(&connection, path)?;
        // Readers and one writer side by side; synced at every commit.
        connection
            .pragma_update(None, "journal_mode", "WAL")
            .and_then(|()| connection.pragma_update(None, "synchronous", "FULL"))
            .and_then(|()| connection.pragma_update(None, "foreign_keys", true))
            // 32 MB of pages in memory: a large import does not read its own pages back.
            .and_then(|()| connection.pragma_update(None, "cache_size", -32_000))
            .map_err(&failed)?;
        schema::migrate(&mut connection, path, schema::SCHEMA_STEPS, &|connection| {
            if let Err(error) = backup::store(connection, path, BackupReason::Upgrade, Utc::now()) {
                tell(&LogbookError::no_backup(error));
            }
        })?;
        Ok(Self {
            connection,
            path: path.to_owned(),
            tell,
            backed_up: None,
            _copy: None,
        })
    }

    /// Opens a logbook to read it, also where nothing can be written: in a folder or on a
    /// file system that is read-only or full. There an older form is brought up to date in
    /// memory, and changes that are still beside the logbook are read from a copy.
    ///
    /// # Errors
    /// As [`Logbook::open_with_warnings`].
    pub fn open_read_only(path: &Path, tell: WarningHandler) -> Result<Self, LogbookError> {
        match Self::open_with_warnings(path, tell) {
            Err(error) if error.is_write_denied() => look(path, tell),
            opened => opened,
        }
    }
}

/// Whether there is a file that may be a logbook; where there was one before, its
/// absence is an error.
pub(super) fn is_there(path: &Path) -> Result<bool, LogbookError> {
    match fs::metadata(path) {
        Ok(_) => schema::look_at_file(path, path).map(|()| true),
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            let beside = with_suffix(path, DATABASE_COMPANIONS[1]);
            if newest_backup(path).is_some() || beside.exists() || path.is_symlink() {
                return Err(LogbookError::unfit(path, NotALogbook::Missing));
            }
            Ok(false)
        }
        Err(error) => Err(LogbookError::unreadable(path, error)),
    }
}

/// Makes an empty logbook, which gets its name only when it is complete.
fn make(path: &Path) -> Result<(), LogbookError> {
    let folder = folder_of(path);
    make_private_folder(folder)?;
    clear_unfinished(folder);
    let part =
        UnfinishedFile::file_in(folder).map_err(LogbookError::io(folder, "create a file in"))?;
    let failed = database(path, "be made");
    let mut connection = Connection::open(part.path()).map_err(&failed)?;
    connection
        .pragma_update(None, "journal_mode", "MEMORY")
        .map_err(&failed)?;
    schema::migrate(&mut connection, path, schema::SCHEMA_STEPS, &|_| ())?;
    connection.close().map_err(|(_, cause)| failed(cause))?;
    part.file()
        .and_then(|file| file.sync_all())
        .map_err(LogbookError::io(path, "write"))?;
    match part.finish_new(path) {
        // Another command made it meanwhile.
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => Ok(()),
        Err(error) => Err(LogbookError::io(path, "make")(error)),
        Ok(()) => Ok(sync_folder(folder)?),
    }
}

fn refuse_others(connection: &Connection, path: &Path) -> Result<(), LogbookError> {
    match schema::kind(connection, path)? {
        DatabaseKind::Logbook(_) => Ok(()),
        DatabaseKind::Foreign => Err(LogbookError::foreign(path)),
        // A run of an earlier version may have died before it made the tables.
        DatabaseKind::Nothing if newest_backup(path).is_none() => Ok(()),
        DatabaseKind::Nothing => Err(LogbookError::unfit(path, NotALogbook::NoTables)),
    }
}

/// Opens what cannot be written.
pub(super) fn look(path: &Path, tell: WarningHandler) -> Result<Logbook, LogbookError> {
    let (mut connection, copy) = reading(path)?;
    refuse_others(&connection, path)?;
    if schema::kind(&connection, path)? != DatabaseKind::NEWEST {
        let failed = database(path, "be brought to the newest form in memory");
        let mut memory = Connection::open_in_memory().map_err(&failed)?;
        backup::copy_pages(&connection, &mut memory).map_err(&failed)?;
        schema::migrate(&mut memory, path, schema::SCHEMA_STEPS, &|_| ())?;
        connection = memory;
    }
    Ok(Logbook {
        connection,
        path: path.to_owned(),
        tell,
        backed_up: None,
        _copy: copy,
    })
}

/// A connection that reads, and the folder of the copy that it reads, if it does.
fn reading(path: &Path) -> Result<(Connection, Option<TempDir>), LogbookError> {
    let log = with_suffix(&resolve_link(path), DATABASE_COMPANIONS[1]);
    let has_log = fs::metadata(&log).is_ok_and(|data| data.len() > 0);
    let failed = database(path, "be read");
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let first = |connection: Connection| {
        connection.busy_timeout(LOCK_TIMEOUT)?;
        connection.query_row("SELECT count(*) FROM sqlite_schema", [], |_| Ok(()))?;
        Ok::<Connection, rusqlite::Error>(connection)
    };
    // Works while another command keeps the files beside it.
    let plain = Connection::open_with_flags(path, flags).and_then(first);
    if let Ok(connection) = plain {
        return Ok((connection, None));
    }
    if !has_log {
        // Without a log beside it nothing is being written: it is read as it is.
        let uri = immutable(path);
        return Connection::open_with_flags(uri, flags | OpenFlags::SQLITE_OPEN_URI)
            .and_then(first)
            .map(|connection| (connection, None))
            .map_err(failed);
    }
    let copied = tempfile::Builder::new().prefix("jumpseat-").tempdir();
    let copied = copied.and_then(|folder| {
        let to = folder.path().join("logbook.sqlite");
        fs::copy(path, &to)?;
        fs::copy(&log, with_suffix(&to, DATABASE_COMPANIONS[1]))?;
        writable(&to)?;
        writable(&with_suffix(&to, DATABASE_COMPANIONS[1]))?;
        Ok((folder, to))
    });
    let (folder, to) = copied.map_err(LogbookError::io(
        path,
        "copy, with its last changes (-wal), to where they can be read,",
    ))?;
    let connection = Connection::open(&to).and_then(first).map_err(failed)?;
    Ok((connection, Some(folder)))
}

/// A copy has the permissions of its original.
fn writable(path: &Path) -> io::Result<()> {
    let mut rights = fs::metadata(path)?.permissions();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        rights.set_mode(0o600);
    }
    #[cfg(not(unix))]
    rights.set_readonly(false);
    fs::set_permissions(path, rights)
}

/// The URI by which SQLite opens a file that no process writes.
#[cfg(unix)]
pub(super) fn immutable(path: &Path) -> PathBuf {
    use std::os::unix::ffi::{OsStrExt as _, OsStringExt as _};
    let mut uri = b"file:".to_vec();
    for byte in path.as_os_str().as_bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'/' | b'.' | b'-' | b'_' => uri.push(*byte),
            other => uri.extend(format!("%{other:02X}").bytes()),
        }
    }
    uri.extend(b"?immutable=1");
    PathBuf::from(OsString::from_vec(uri))
}

/// The URI by which SQLite opens a file that no process writes.
#[cfg(not(unix))]
pub(super) fn immutable(path: &Path) -> PathBuf {
    let plain = path.to_string_lossy().replace('\\', "/");
    let mut uri = String::from(if plain.contains(':') {
        "file:///"
    } else {
        "file:"
    });
    for character in plain.chars() {
        match character {
            '%' | '?' | '#' => uri.push_str(&format!("%{:02X}", u32::from(character))),
            other => uri.push(other),
        }
    }
    uri.push_str("?immutable=1");
    PathBuf::from(OsString::from(uri))
}
