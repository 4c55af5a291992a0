//! The checksums of a trip in the library, in the form that `sha256sum -c` reads.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result};
use jumpseat_log::write_durably;

/// Hidden, so that it is no part of the trip.
const FILE: &str = ".sha256sums";

/// Checksums by file name.
#[derive(Debug)]
pub(super) struct Sums {
    path: PathBuf,
    sums: BTreeMap<String, String>,
    changed: bool,
}

impl Sums {
    /// Reads those of a folder; lines that are none are left out.
    pub(super) fn read(folder: &Path) -> Result<Self> {
        let path = folder.join(FILE);
        let text = match fs::read_to_string(&path) {
            Ok(text) => text,
            Err(error) if error.kind() == io::ErrorKind::NotFound => String::new(),
            Err(error) => {
                return Err(error).with_context(|| format!("cannot read {}", path.display()));
            }
        };
        let sums = text
            .lines()
            .filter_map(|line| line.split_once("  "))
            .filter(|(sum, _)| sum.len() == 64)
            .map(|(sum, name)| (name.to_owned(), sum.to_owned()))
            .collect();
        let mut sums = Self {
            path,
            sums,
            changed: false,
        };
        if !text.is_empty() && !text.ends_with('\n') {
            // The last pull ended in mid-line.
            sums.changed = true;
            sums.write()?;
        }
        Ok(sums)
    }

    /// The checksum of a file.
    pub(super) fn of(&self, name: &str) -> Option<&str> {
        self.sums.get(name).map(String::as_str)
    }

    /// Notes one, so that the next pull knows it if this one is cut off.
    pub(super) fn set(&mut self, name: &str, sum: String) -> Result<()> {
        File::options()
            .create(true)
            .append(true)
            .open(&self.path)
            .and_then(|mut file| file.write_all(format!("{sum}  {name}\n").as_bytes()))
            .with_context(|| format!("cannot write {}", self.path.display()))?;
        self.sums.insert(name.to_owned(), sum);
        self.changed = true;
        Ok(())
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
