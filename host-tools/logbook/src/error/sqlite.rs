//! Explains the errors of SQLite.

use rusqlite::ErrorCode;

/// What SQLite met, and what to do. The numbers are those of sqlite.org, "Result and
/// Error Codes".
pub(super) fn words(cause: &rusqlite::Error) -> String {
    let rusqlite::Error::SqliteFailure(error, _) = cause else {
        return cause.to_string();
    };
    let extended = error.extended_code;
    let explanation = match (error.code, extended) {
        // A file beside it could not grow (SQLITE_IOERR_SHMSIZE); nothing else makes
        // that fail.
        (ErrorCode::DiskFull, _) | (_, 4874) => "the disk is full. Make room on it, and try again",
        // Write, sync, sync of the folder, truncate, delete.
        (_, 778 | 1034 | 1290 | 1546 | 2570) => {
            "the disk does not store what is written; it may be full or failing. Make room on it, \
             check it, and try again"
        }
        // Read, and less of it than there should be; checksum, file system.
        (_, 266 | 522 | 8202 | 8458) => {
            "the disk cannot read what is on it. Check the disk; if the logbook is damaged, \
             restore it from a backup"
        }
        // Locks, and memory shared with other commands.
        (_, 2058 | 2314 | 3594 | 3850 | 5130) => {
            "its file system does not let files be locked, as some network drives do not. Choose \
             a place on this computer with --home"
        }
        (_, 4618 | 4106 | 5386) => {
            "the -shm file beside it cannot be used. Check that you may write in its folder"
        }
        (ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked, _) => {
            "another jumpseat is writing; wait for it and try again"
        }
        (ErrorCode::NotADatabase, _) => {
            "it is not a logbook, or it is damaged. Restore it from a backup, or move it away"
        }
        (ErrorCode::DatabaseCorrupt, _) => "it is damaged. Restore it from a backup",
        (ErrorCode::ReadOnly, _) => {
            "it cannot be written, because it, its folder or its disk is read-only to you. Check \
             that you may write there"
        }
        (ErrorCode::CannotOpen | ErrorCode::PermissionDenied, _) => {
            "it cannot be opened; it, its folder or its disk may be read-only to you. Check that you \
             may read and write there"
        }
        (ErrorCode::SystemIoFailure, _) => "the disk or its file system failed. Check the disk",
        (ErrorCode::OutOfMemory, _) => "there is no memory left. End other programs",
        _ => return cause.to_string(),
    };
    format!("{explanation} (SQLite's error {extended})")
}

#[cfg(test)]
mod tests {
    use crate::LogbookError;

    #[track_caller]
    fn check(extended: i32, expected: &str) {
        let error = LogbookError::Database {
            path: "home/logbook.sqlite".into(),
            doing: "store the contacts",
            cause: rusqlite::Error::SqliteFailure(rusqlite::ffi::Error::new(extended), None),
        };
        let message = error.to_string();
        assert!(
            message.starts_with("the logbook home/logbook.sqlite could not store"),
            "{message}"
        );
        assert!(message.contains(expected), "{message}");
        assert!(
            message.ends_with(&format!("(SQLite's error {extended})")),
            "{message}"
        );
    }

    #[test]
    fn every_error_says_what_to_do() {
        use rusqlite::ffi;
        for (code, expected) in [
            (ffi::SQLITE_FULL, "the disk is full. Make room"),
            (ffi::SQLITE_IOERR_SHMSIZE, "the disk is full. Make room"),
            (ffi::SQLITE_IOERR_WRITE, "full or failing"),
            (ffi::SQLITE_IOERR_FSYNC, "full or failing"),
            (ffi::SQLITE_IOERR_READ, "Check the disk"),
            (ffi::SQLITE_IOERR_LOCK, "network drives"),
            (ffi::SQLITE_IOERR_SHMOPEN, "-shm file"),
            (ffi::SQLITE_READONLY, "read-only to you"),
            (ffi::SQLITE_READONLY_DIRECTORY, "read-only to you"),
            (ffi::SQLITE_CANTOPEN, "cannot be opened; it, its folder"),
            (ffi::SQLITE_CORRUPT, "it is damaged. Restore"),
            (ffi::SQLITE_NOTADB, "not a logbook"),
            (ffi::SQLITE_BUSY, "another jumpseat is writing"),
            (ffi::SQLITE_NOMEM, "no memory left"),
        ] {
            check(code, expected);
        }
    }
}
