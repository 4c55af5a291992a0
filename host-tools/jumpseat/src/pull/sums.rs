//! The checksums of a trip in the library, in the form that `sha256sum -c` reads.

use std::collections::BTreeMap;
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result};
use jumpseat_files::write_durably;
use jumpseat_trip::open_regular_file;

/// Hidden, so that it is no part of the trip.
const CHECKSUM_FILE: &str = ".sha256sums";
/// A day of short overs has some thousands of files, of a hundred bytes each here.
const MAX_CHECKSUM_BYTES: u64 = 32 << 20;

/// Checksums by file name.
#[derive(Debug, Default)]
pub(crate) struct ChecksumList {
    path: PathBuf,
    sums: BTreeMap<String, String>,
    changed: bool,
}

impl ChecksumList {
    /// Reads those of a folder; lines that are none are left out.
    pub(crate) fn read(folder: &Path) -> Result<Self> {
        let path = folder.join(CHECKSUM_FILE);
        let mut bytes = Vec::new();
        let read = open_regular_file(&path)
            .and_then(|file| file.take(MAX_CHECKSUM_BYTES).read_to_end(&mut bytes));
        match read {
            Ok(_) => {}
            Err(error) if error.kind() == io::ErrorKind::NotFound => {}
            Err(error) => {
                return Err(error).with_context(|| format!("cannot read {}", path.display()));
            }
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
    pub(crate) fn checksum(&self, name: &str) -> Option<&str> {
        self.sums.get(name).map(String::as_str)
    }

    /// Every file with its checksum, by name.
    pub(crate) fn all(&self) -> impl Iterator<Item = (&str, &str)> {
        let sums = self.sums.iter();
        sums.map(|(name, sum)| (name.as_str(), sum.as_str()))
    }

    /// Notes one.
    pub(super) fn set(&mut self, name: &str, sum: String) {
        self.sums.insert(name.to_owned(), sum);
        self.changed = true;
    }

    /// Takes one out.
    pub(super) fn forget(&mut self, name: &str) {
        self.changed |= self.sums.remove(name).is_some();
    }

    /// Writes them in order, one line a file, safe from a power cut.
    pub(super) fn write(&mut self) -> Result<()> {
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

/// Takes the checksums of files that are not there any more out of a trip's list.
pub(crate) fn forget_checksums(folder: &Path, names: &[&str]) -> Result<()> {
    let mut sums = ChecksumList::read(folder)?;
    for name in names {
        sums.forget(name);
    }
    sums.write()
}
