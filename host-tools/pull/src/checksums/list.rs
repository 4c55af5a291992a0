//! The checksums of a trip in the library, in the format that `sha256sum -c` reads.

use std::collections::BTreeMap;
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

use jumpseat_files::{open_regular_file, write_durably};

use crate::error::PullError;

/// The list's name in a trip's folder. It is hidden, so that it is no part of the trip.
pub const CHECKSUM_FILE: &str = ".sha256sums";
/// A day of short overs has some thousands of files, with a hundred bytes each in the list.
const MAX_CHECKSUM_BYTES: u64 = 32 << 20;

/// Checksums by file name.
#[derive(Debug, Default)]
pub struct ChecksumList {
    path: PathBuf,
    sums: BTreeMap<String, String>,
    changed: bool,
}

impl ChecksumList {
    /// Reads the list of a trip's folder; lines of another form are ignored, and without
    /// the file the list is empty.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn read(folder: &Path) -> Result<Self, PullError> {
        let path = folder.join(CHECKSUM_FILE);
        let mut bytes = Vec::new();
        let read = open_regular_file(&path)
            .and_then(|file| file.take(MAX_CHECKSUM_BYTES).read_to_end(&mut bytes));
        match read {
            Ok(_) => {}
            Err(error) if error.kind() == io::ErrorKind::NotFound => {}
            Err(error) => return Err(PullError::library("read", &path)(error)),
        }
        let text = String::from_utf8_lossy(&bytes);
        let sums = text
            .lines()
            .filter_map(|line| line.split_once("  "))
            .filter(|(sum, _)| sum.len() == 64)
            .map(|(sum, name)| (name.to_owned(), sum.to_owned()))
            .collect();
        Ok(Self {
            path,
            sums,
            changed: false,
        })
    }

    /// The checksum of a file.
    #[must_use]
    pub fn checksum(&self, name: &str) -> Option<&str> {
        self.sums.get(name).map(String::as_str)
    }

    /// Every file with its checksum, in the order of their names.
    pub fn all(&self) -> impl Iterator<Item = (&str, &str)> {
        let sums = self.sums.iter();
        sums.map(|(name, sum)| (name.as_str(), sum.as_str()))
    }

    /// Sets the checksum of a file.
    pub(crate) fn set(&mut self, name: &str, sum: String) {
        self.sums.insert(name.to_owned(), sum);
        self.changed = true;
    }

    /// Removes the checksum of a file.
    pub(crate) fn remove(&mut self, name: &str) {
        self.changed |= self.sums.remove(name).is_some();
    }

    /// Writes the list if it changed, safe from a power cut.
    pub(crate) fn write(&mut self) -> Result<(), PullError> {
        if self.changed {
            let lines = self.sums.iter();
            let text: String = lines
                .map(|(name, sum)| format!("{sum}  {name}\n"))
                .collect();
            write_durably(&self.path, text.as_bytes())?;
            self.changed = false;
        }
        Ok(())
    }
}

/// Removes the checksums of files that are no longer there from a trip's list.
///
/// # Errors
/// When the list cannot be read or written.
pub fn forget_checksums(folder: &Path, names: &[&str]) -> Result<(), PullError> {
    let mut sums = ChecksumList::read(folder)?;
    for name in names {
        sums.remove(name);
    }
    sums.write()
}
