//! Writes files that are complete or absent after a crash.

use std::fs::{self, File};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use crate::error::FileError;
use crate::new_folder::{make_folder, make_private_folder};
use crate::sync::sync_folder;
use crate::unfinished::UnfinishedFile;

/// Writes a file so that after a crash at any instant it has either its old content or the
/// new one, never a part: temporary file beside it, sync, rename, sync of the folder. All
/// users may read it, because a person asked for it. Not promised: that the rename
/// survives on file systems that ignore the last sync.
///
/// # Errors
/// [`FileError`] with the path that could not be written.
pub fn write(path: &Path, content: &[u8]) -> Result<(), FileError> {
    let folder = folder_of(path);
    make_folder(folder)?;
    put(path, content, readable)
}

/// The same for private files: the library and what is made of it. Only their owner may
/// read them and the folders that are made for them.
///
/// # Errors
/// [`FileError`] with the path that could not be written.
pub fn write_private(path: &Path, content: &[u8]) -> Result<(), FileError> {
    make_private_folder(folder_of(path))?;
    put(path, content, |_| Ok(()))
}

fn put(
    path: &Path,
    content: &[u8],
    rights: impl FnOnce(&File) -> io::Result<()>,
) -> Result<(), FileError> {
    let folder = folder_of(path);
    let file =
        UnfinishedFile::file_in(folder).map_err(FileError::io(folder, "create a file in"))?;
    let written = file.file().and_then(|mut open| {
        open.write_all(content)?;
        rights(open)?;
        open.sync_all()
    });
    written.map_err(FileError::io(path, "write"))?;
    file.finish(path).map_err(FileError::io(path, "write"))?;
    sync_folder(folder)
}

/// Where a path leads if it is a link: SQLite puts its files beside the target.
pub fn resolve_link(path: &Path) -> PathBuf {
    match fs::symlink_metadata(path) {
        Ok(data) if data.is_symlink() => fs::canonicalize(path).unwrap_or_else(|_| path.to_owned()),
        _ => path.to_owned(),
    }
}

/// The folder in which a path lies.
pub fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// Makes a temporary file, which is private, readable for all users.
#[cfg(unix)]
fn readable(file: &File) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    file.set_permissions(fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn readable(_: &File) -> io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn replaces_the_whole_file_and_leaves_nothing_beside_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("new/log.adi");
        write(&path, b"a longer first text").unwrap();
        write(&path, b"second").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"second");
        let names = fs::read_dir(folder.path().join("new")).unwrap().count();
        assert_eq!(names, 1);
    }

    #[cfg(unix)]
    #[test]
    fn what_is_private_is_read_by_its_owner_alone() {
        use std::os::unix::fs::PermissionsExt as _;
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        let mode = |name: &str| fs::metadata(at(name)).unwrap().permissions().mode() & 0o777;
        write(&at("log.adi"), b"").unwrap();
        write_private(&at("heard.json"), b"").unwrap();
        make_private_folder(&at("a/b")).unwrap();
        for (name, expected) in [
            ("log.adi", 0o644),
            ("heard.json", 0o600),
            ("a", 0o700),
            ("a/b", 0o700),
        ] {
            assert_eq!(mode(name), expected, "{name}");
        }
    }

    #[test]
    fn an_error_names_the_place() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("file");
        fs::write(&file, "").unwrap();
        let error = write(&file.join("log.adi"), b"").unwrap_err().to_string();
        assert!(error.contains(file.to_str().unwrap()), "{error}");
    }
}
