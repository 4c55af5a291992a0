//! Why a script could not be written or read.

use std::path::{Path, PathBuf};

/// Why a script could not be written or read.
#[derive(Debug, thiserror::Error)]
pub enum ScriptError {
    /// A file could not be written or read.
    #[error("cannot use {}: {source}; look at the folder's permissions and the free space", path.display())]
    File {
        /// Which.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// The sound could not be written.
    #[error("cannot write the sound {}: {source}", path.display())]
    Sound {
        /// Which.
        path: PathBuf,
        /// Why.
        source: hound::Error,
    },
    /// A file is not the JSON that it should be.
    #[error("{} is not right: {source}", path.display())]
    Json {
        /// Which file.
        path: PathBuf,
        /// Why.
        source: serde_json::Error,
    },
    /// A line does not say what happens.
    #[error("{} line {line}: {source}", path.display())]
    Line {
        /// Which file.
        path: PathBuf,
        /// From 1.
        line: usize,
        /// Why.
        source: serde_json::Error,
    },
}

impl ScriptError {
    /// For `map_err`.
    pub(crate) fn file(path: &Path) -> impl FnOnce(std::io::Error) -> Self {
        let path = path.to_owned();
        move |source| Self::File { path, source }
    }

    pub(super) fn json(path: &Path) -> impl FnOnce(serde_json::Error) -> Self {
        let path = path.to_owned();
        move |source| Self::Json { path, source }
    }
}
