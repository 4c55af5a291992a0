//! The recorder's errors; each names what to do next.

use std::io;
use std::path::{Path, PathBuf};

/// An error of the recorder.
#[derive(Debug, thiserror::Error)]
pub enum RecorderError {
    /// A file or folder could not be read, created, written or synced.
    #[error("cannot {doing} {}: {source}; {}", path.display(), advice(source))]
    Io {
        /// What was tried, as a verb.
        doing: &'static str,
        /// Which file or folder.
        path: PathBuf,
        /// The system's reason.
        source: io::Error,
    },
    /// The config file is wrong.
    #[error("{}: {problem}", path.display())]
    Config {
        /// Which config file.
        path: PathBuf,
        /// What is wrong, and what is allowed.
        problem: String,
    },
    /// A drive script is wrong.
    #[error("{}: {problem}", path.display())]
    Script {
        /// Which file of the script.
        path: PathBuf,
        /// What is wrong.
        problem: String,
    },
    /// A device is missing or refuses to work.
    #[error("{0}")]
    Device(String),
}

impl RecorderError {
    /// An I/O error with its path.
    pub fn io(doing: &'static str, path: &Path, source: io::Error) -> Self {
        Self::Io {
            doing,
            path: path.to_owned(),
            source,
        }
    }
}

fn advice(source: &io::Error) -> &'static str {
    match source.kind() {
        io::ErrorKind::NotFound => "check that the path is right and that its card is mounted",
        io::ErrorKind::PermissionDenied => "check who may read and write there",
        io::ErrorKind::StorageFull => "pull the trips at home, or change the card",
        io::ErrorKind::ReadOnlyFilesystem => {
            "the card is read-only: check its switch and its file system"
        }
        _ => "check the card and its cable",
    }
}
