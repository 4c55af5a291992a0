//! Why something that a test stands on does not work.

use std::io;
use std::path::{Path, PathBuf};

/// Why a program, file or port that a test needs does not work.
#[derive(Debug, thiserror::Error)]
pub enum PartError {
    /// A program could not be started.
    #[error("cannot start {program}: {source}; tests/run installs what is missing")]
    Start {
        /// Its name.
        program: String,
        /// Why not.
        source: io::Error,
    },
    /// A program did not start, or ended.
    #[error("{program}: {detail}")]
    Failed {
        /// Its name.
        program: String,
        /// The details.
        detail: String,
    },
    /// A file, pipe or port could not be used.
    #[error("cannot use {}: {source}", path.display())]
    File {
        /// Which.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
}

impl PartError {
    /// For `map_err`.
    pub fn file(path: &Path) -> impl FnOnce(io::Error) -> Self {
        let path = path.to_owned();
        move |source| Self::File { path, source }
    }

    /// A program that failed, with the details.
    pub fn failed(program: &str, detail: impl ToString) -> Self {
        Self::Failed {
            program: program.to_owned(),
            detail: detail.to_string(),
        }
    }
}
