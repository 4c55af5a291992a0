//! Folders that tests copy and compare.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use crate::PartError;

/// Copies the files of a folder and of the folders in it, and makes the folders that are
/// missing.
///
/// # Errors
/// The first file or folder that cannot be read or written.
pub fn copy_folder(from: &Path, to: &Path) -> Result<(), PartError> {
    fs::create_dir_all(to).map_err(PartError::file(to))?;
    for entry in fs::read_dir(from).map_err(PartError::file(from))? {
        let entry = entry.map_err(PartError::file(from))?;
        let (path, target) = (entry.path(), to.join(entry.file_name()));
        if path.is_dir() {
            copy_folder(&path, &target)?;
        } else {
            fs::copy(&path, &target).map_err(PartError::file(&path))?;
        }
    }
    Ok(())
}

/// Every file in a folder and in the folders in it, by its path from there, with its bytes.
///
/// # Errors
/// The first file or folder that cannot be read.
pub fn contents(folder: &Path) -> Result<BTreeMap<PathBuf, Vec<u8>>, PartError> {
    let mut found = BTreeMap::new();
    let mut folders = vec![PathBuf::new()];
    while let Some(inner) = folders.pop() {
        let here = folder.join(&inner);
        for entry in fs::read_dir(&here).map_err(PartError::file(&here))? {
            let entry = entry.map_err(PartError::file(&here))?;
            let name = inner.join(entry.file_name());
            if entry.path().is_dir() {
                folders.push(name);
            } else {
                let bytes = fs::read(entry.path()).map_err(PartError::file(&entry.path()))?;
                found.insert(name, bytes);
            }
        }
    }
    Ok(found)
}

/// The names in a folder, sorted, hidden ones too.
///
/// # Errors
/// When the folder cannot be read.
pub fn file_names(folder: &Path) -> Result<Vec<String>, PartError> {
    let mut names = Vec::new();
    for entry in fs::read_dir(folder).map_err(PartError::file(folder))? {
        let entry = entry.map_err(PartError::file(folder))?;
        names.push(entry.file_name().to_string_lossy().into_owned());
    }
    names.sort();
    Ok(names)
}

/// A path as text, for a command line that is text; empty where it is none.
pub fn path_text(path: &Path) -> &str {
    path.to_str().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_copied_folder_has_the_same_contents_and_another_has_not() {
        let folder = tempfile::tempdir().unwrap();
        let (from, to) = (folder.path().join("from"), folder.path().join("a/b/to"));
        fs::create_dir_all(from.join("inner")).unwrap();
        fs::write(from.join("one"), "1").unwrap();
        fs::write(from.join("inner/two"), "2").unwrap();
        copy_folder(&from, &to).unwrap();
        assert_eq!(contents(&to).unwrap(), contents(&from).unwrap());
        assert_eq!(file_names(&to).unwrap(), ["inner", "one"]);
        fs::write(to.join("inner/two"), "3").unwrap();
        assert_ne!(contents(&to).unwrap(), contents(&from).unwrap());
        let missing = copy_folder(&folder.path().join("none"), &to).unwrap_err();
        assert!(missing.to_string().contains("none"), "{missing}");
    }
}
