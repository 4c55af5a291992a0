//! Brings files and folders to the disk.

use std::fs::File;
use std::io;
use std::path::{Path, PathBuf};

use crate::error::FileError;

/// Syncs files of one folder.
///
/// # Errors
/// The path that could not be synced, with the system's reason.
#[cfg(target_os = "linux")]
pub fn sync_files(folder: &Path, _files: &[&Path]) -> Result<(), (PathBuf, io::Error)> {
    let failed = |error: io::Error| (folder.to_owned(), error);
    // One sync of the file system for all of them: syncing each takes longer than fetching it.
    let open = File::open(folder).map_err(failed)?;
    rustix::fs::syncfs(open).map_err(|error| failed(error.into()))
}

/// Syncs files of one folder.
///
/// # Errors
/// The path that could not be synced, with the system's reason.
#[cfg(not(target_os = "linux"))]
pub fn sync_files(_folder: &Path, files: &[&Path]) -> Result<(), (PathBuf, io::Error)> {
    for path in files {
        File::options()
            .append(true)
            .open(path)
            .and_then(|file| file.sync_all())
            .map_err(|error| ((*path).to_owned(), error))?;
    }
    Ok(())
}

/// A new name in a folder is durable once the folder is synced. Only Unix can do
/// that; elsewhere nothing is done.
///
/// # Errors
/// When the folder cannot be opened or synced.
pub fn sync_folder(folder: &Path) -> Result<(), FileError> {
    if cfg!(unix) {
        File::open(folder)
            .and_then(|folder| folder.sync_all())
            .map_err(FileError::io(folder, "sync"))?;
    }
    Ok(())
}
