//! A named pipe that carries line levels as text.

use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};

use jumpseat_test_kit::PartError;
use rustix::fs::{CWD, Mode, mkfifoat};

/// The writing end.
#[derive(Debug)]
pub struct LineFeed {
    path: PathBuf,
    pipe: fs::File,
}

impl LineFeed {
    /// Creates the pipe, or uses the one that exists.
    pub fn make(path: &Path) -> Result<Self, PartError> {
        Ok(Self {
            path: path.to_owned(),
            pipe: open_fifo(path)?,
        })
    }

    /// Writes a level such as "ptt 1" or "mark 0".
    pub fn set_line(&self, line: &str, level: bool) -> Result<(), PartError> {
        // One write, so that a line is never cut in two.
        let text = format!("{line} {}\n", u8::from(level));
        (&self.pipe)
            .write_all(text.as_bytes())
            .map_err(PartError::file(&self.path))
    }
}

/// Creates a named pipe.
pub fn make_fifo(path: &Path) -> Result<(), PartError> {
    mkfifoat(CWD, path, Mode::RUSR | Mode::WUSR)
        .map_err(|error| PartError::file(path)(error.into()))
}

/// Opens a named pipe for reading and writing, so that neither end waits for the other.
/// Creates it if it is missing.
pub(super) fn open_fifo(path: &Path) -> Result<fs::File, PartError> {
    if !path.exists() {
        make_fifo(path)?;
    }
    fs::OpenOptions::new()
        .read(true)
        .write(true)
        .open(path)
        .map_err(PartError::file(path))
}
