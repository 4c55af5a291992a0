//! Copies a folder.

use std::fs;
use std::path::Path;

use jumpseat_files::FileError;

/// Copies the files of a folder and of the folders in it; folders that are missing are made.
///
/// # Errors
/// The first file or folder that cannot be read or written.
pub(crate) fn copy_folder(from: &Path, to: &Path) -> Result<(), FileError> {
    fs::create_dir_all(to).map_err(FileError::io(to, "create the folder"))?;
    for entry in fs::read_dir(from).map_err(FileError::io(from, "list"))? {
        let entry = entry.map_err(FileError::io(from, "list"))?;
        let (path, target) = (entry.path(), to.join(entry.file_name()));
        if path.is_dir() {
            copy_folder(&path, &target)?;
        } else {
            fs::copy(&path, &target).map_err(FileError::io(&path, "copy"))?;
        }
    }
    Ok(())
}
