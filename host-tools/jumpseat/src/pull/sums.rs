//! The checksums of a trip in the library, in the form that `sha256sum -c` reads.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::Path;

use anyhow::{Context as _, Result};
use jumpseat_log::write_durably;

/// Hidden, so that it is no part of the trip.
const FILE: &str = ".sha256sums";

/// Checksums by file name.
#[derive(Debug, Default)]
pub(super) struct Sums(BTreeMap<String, String>);

impl Sums {
    /// Reads those of a folder; lines that are none are left out.
    pub(super) fn read(folder: &Path) -> Result<Self> {
        let path = folder.join(FILE);
        let text = match fs::read_to_string(&path) {
            Ok(text) => text,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Self::default()),
            Err(error) => {
                return Err(error).with_context(|| format!("cannot read {}", path.display()));
            }
        };
        let sums = text.lines().filter_map(|line| line.split_once("  "));
        Ok(Self(
            sums.map(|(sum, name)| (name.to_owned(), sum.to_owned()))
                .collect(),
        ))
    }

    /// The checksum of a file.
    pub(super) fn of(&self, name: &str) -> Option<&str> {
        self.0.get(name).map(String::as_str)
    }

    /// Notes one.
    pub(super) fn set(&mut self, name: &str, sum: String) {
        self.0.insert(name.to_owned(), sum);
    }

    /// Writes them into the folder.
    pub(super) fn write(&self, folder: &Path) -> Result<()> {
        let text: String = self
            .0
            .iter()
            .map(|(name, sum)| format!("{sum}  {name}\n"))
            .collect();
        Ok(write_durably(&folder.join(FILE), text.as_bytes())?)
    }
}
