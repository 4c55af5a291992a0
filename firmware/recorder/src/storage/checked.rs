//! Operations of the storage whose errors name the path and what was tried.

use std::io;
use std::path::Path;

use super::{CardStorage, StoredFile};
use crate::error::RecorderError;

/// Creates a folder, which must not exist yet.
pub(crate) fn make_dir(storage: &mut dyn CardStorage, dir: &Path) -> Result<(), RecorderError> {
    storage
        .make_dir(dir)
        .map_err(|source| RecorderError::io("create the folder", dir, source))
}

/// Creates a file, which must not exist yet.
pub(crate) fn create(
    storage: &mut dyn CardStorage,
    path: &Path,
) -> Result<Box<dyn StoredFile>, RecorderError> {
    storage
        .create(path)
        .map_err(|source| RecorderError::io("create", path, source))
}

/// Makes new names in a folder survive a power cut.
pub(crate) fn sync_dir(storage: &mut dyn CardStorage, dir: &Path) -> Result<(), RecorderError> {
    storage
        .sync_dir(dir)
        .map_err(|source| RecorderError::io("sync the folder", dir, source))
}

/// Names in a folder, at most `most`.
pub(crate) fn names(
    storage: &mut dyn CardStorage,
    dir: &Path,
    most: usize,
) -> Result<Vec<String>, RecorderError> {
    storage
        .names(dir, most)
        .map_err(|source| RecorderError::io("list", dir, source))
}

/// Removes a file. A file that is already gone is not an error.
pub(crate) fn remove(storage: &mut dyn CardStorage, path: &Path) -> Result<(), RecorderError> {
    match storage.remove(path) {
        Err(source) if source.kind() != io::ErrorKind::NotFound => {
            Err(RecorderError::io("remove", path, source))
        }
        _ => Ok(()),
    }
}

/// Free bytes of the file system that holds `dir`.
pub(crate) fn free_bytes(storage: &mut dyn CardStorage, dir: &Path) -> Result<u64, RecorderError> {
    storage
        .free_bytes(dir)
        .map_err(|source| RecorderError::io("read the free space of", dir, source))
}

/// Replaces a small file in one step: after a power cut it holds the old text or the new,
/// provided that the card keeps the order of its syncs. The new text has the name `part`
/// until it is synced; a file of that name is removed first.
///
/// # Errors
/// [`RecorderError::Io`].
pub(crate) fn replace(
    storage: &mut dyn CardStorage,
    path: &Path,
    part: &Path,
    bytes: &[u8],
) -> Result<(), RecorderError> {
    let dir = path.parent().unwrap_or(Path::new("."));
    if storage.kind(part).is_ok() {
        remove(storage, part)?;
    }
    let mut file = create(storage, part)?;
    file.write_all(bytes)
        .and_then(|()| file.flush())
        .and_then(|()| file.sync())
        .map_err(|source| RecorderError::io("write", part, source))?;
    drop(file);
    storage
        .rename(part, path)
        .map_err(|source| RecorderError::io("replace", path, source))?;
    sync_dir(storage, dir)
}
