//! Files that are whole or not there.

use std::fs::{self, File};
use std::io::Write as _;
use std::path::Path;

use crate::LogError;
use crate::new_folder::make_folder;

/// Writes a file so that after a crash at any instant either the old content or
/// the new is there, never a part: temporary file beside it, sync, rename, sync
/// of the folder. Not promised: that a rename survives on file systems that
/// ignore the last sync.
pub fn write(path: &Path, content: &[u8]) -> Result<(), LogError> {
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    make_folder(folder)?;
    let mut file = tempfile::Builder::new()
        .prefix(".jumpseat-")
        .tempfile_in(folder)
        .map_err(LogError::io(folder, "create a file in"))?;
    let written = file
        .write_all(content)
        .and_then(|()| readable(file.as_file()))
        .and_then(|()| file.as_file().sync_all());
    written.map_err(LogError::io(path, "write"))?;
    file.persist(path)
        .map_err(|error| LogError::io(path, "write")(error.error))?;
    sync_folder(folder)
}

/// Temporary files are private; a log that a person exports is not.
#[cfg(unix)]
fn readable(file: &File) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    file.set_permissions(fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn readable(_: &File) -> std::io::Result<()> {
    Ok(())
}

/// A new name in a folder is durable once the folder is synced. Only Unix can do
/// that; elsewhere nothing is done.
///
/// # Errors
/// When the folder cannot be opened or synced.
pub fn sync_folder(folder: &Path) -> Result<(), LogError> {
    if cfg!(unix) {
        File::open(folder)
            .and_then(|folder| folder.sync_all())
            .map_err(LogError::io(folder, "sync"))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::write;

    #[test]
    fn replaces_the_whole_file_and_leaves_nothing_beside_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("new/log.adi");
        write(&path, b"a longer first text").unwrap();
        write(&path, b"second").unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), b"second");
        let names = std::fs::read_dir(folder.path().join("new"))
            .unwrap()
            .count();
        assert_eq!(names, 1);
    }

    #[test]
    fn an_error_names_the_place() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("file");
        std::fs::write(&file, "").unwrap();
        let error = write(&file.join("log.adi"), b"").unwrap_err().to_string();
        assert!(error.contains(file.to_str().unwrap()), "{error}");
    }
}
