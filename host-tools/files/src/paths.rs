//! Names and full paths of files.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// The last part of a path as text; empty when there is none.
pub fn file_name(path: &Path) -> String {
    path.file_name()
        .map(|name| name.to_string_lossy().into_owned())
        .unwrap_or_default()
}

/// The full path of something that exists. On Windows the system's own answer is a spelling
/// that no person knows (`\\?\C:\...`), and some drives have none; there the path is only
/// made absolute.
///
/// # Errors
/// When nothing is there.
pub fn full_path(path: &Path) -> io::Result<PathBuf> {
    if cfg!(windows) {
        fs::metadata(path)?;
        std::path::absolute(path)
    } else {
        fs::canonicalize(path)
    }
}
