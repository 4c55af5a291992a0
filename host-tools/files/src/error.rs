//! What can go wrong with a file.

use std::io;
use std::path::{Path, PathBuf};

/// A file or folder could not be made, written or read. `Display` names it and says what to
/// check.
#[derive(Debug, thiserror::Error)]
#[error("could not {doing} {path}: {source}. Check that the disk has room and that you may write there", path = path.display())]
pub struct FileError {
    /// The file or folder.
    pub path: PathBuf,
    /// What was done with it.
    pub doing: &'static str,
    /// Why it failed.
    pub source: io::Error,
}

impl FileError {
    /// Makes the error of one step on `path`, such as "write".
    pub fn io(path: &Path, doing: &'static str) -> impl FnOnce(io::Error) -> Self {
        let path = path.to_owned();
        move |source| Self {
            path,
            doing,
            source,
        }
    }
}
