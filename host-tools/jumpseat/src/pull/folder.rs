//! A folder of this computer as a source, such as a card in its reader.

use std::fs::{self, File};
use std::io::{Read as _, Seek as _, SeekFrom};
use std::path::{Path, PathBuf};
use std::time::{Instant, SystemTime};

use anyhow::{Context as _, Result, bail};
use jumpseat_log::write_durably;

use super::LEASE_EVERY;
use super::source::{Entry, Kind, Source, Take, Wanted};
use crate::home::name_of;
use crate::system;

const CHUNK: u64 = 1 << 20;

/// The folder.
pub(super) struct Folder {
    root: PathBuf,
    /// The file that is touched, and when it last was.
    lease: Option<(PathBuf, Instant)>,
}

impl Folder {
    pub(super) fn new(root: &Path) -> Self {
        Self {
            root: root.to_owned(),
            lease: None,
        }
    }

    fn at(&self, path: &str) -> PathBuf {
        if path.is_empty() {
            self.root.clone()
        } else {
            self.root.join(path)
        }
    }

    fn touch_if_due(&mut self) -> Result<()> {
        match &mut self.lease {
            Some((path, last)) if last.elapsed() >= LEASE_EVERY => {
                *last = Instant::now();
                touch(path)
            }
            _ => Ok(()),
        }
    }
}

impl Source for Folder {
    fn say(&self, path: &str) -> String {
        self.at(path).display().to_string()
    }

    fn own(&mut self) -> Result<Option<(String, Kind)>> {
        if !self.root.exists() {
            return Ok(None);
        }
        let whole = system::whole(&self.root).with_context(|| cannot_read(&self.root))?;
        let kind = if whole.is_dir() {
            Kind::Folder
        } else {
            Kind::File
        };
        Ok(Some((name_of(&whole), kind)))
    }

    fn list(&mut self, folder: &str) -> Result<Vec<Entry>> {
        let folder = self.at(folder);
        let listing = fs::read_dir(&folder).with_context(|| cannot_read(&folder))?;
        let mut entries = Vec::new();
        for entry in listing {
            let entry = entry.with_context(|| cannot_read(&folder))?;
            let path = entry.path();
            let data = fs::symlink_metadata(&path).with_context(|| cannot_read(&path))?;
            entries.push(Entry {
                name: entry.file_name().into_string().ok(),
                kind: if data.is_dir() {
                    Kind::Folder
                } else if data.is_file() {
                    Kind::File
                } else {
                    Kind::Other
                },
                bytes: data.len(),
                modified: data.modified().ok(),
            });
        }
        Ok(entries)
    }

    fn fetch(&mut self, wanted: &[Wanted], take: Take<'_>) -> Result<()> {
        for (number, wanted) in wanted.iter().enumerate() {
            let path = self.at(&wanted.path);
            let mut file = File::open(&path).with_context(|| cannot_read(&path))?;
            file.seek(SeekFrom::Start(wanted.from))
                .with_context(|| cannot_read(&path))?;
            let mut left = wanted.length;
            while left > 0 {
                let most = left.min(CHUNK);
                let mut piece = Vec::with_capacity(usize::try_from(most)?);
                file.by_ref()
                    .take(most)
                    .read_to_end(&mut piece)
                    .with_context(|| cannot_read(&path))?;
                if piece.is_empty() {
                    bail!(
                        "{} is shorter than it was a moment ago; check the card, and pull again",
                        path.display()
                    );
                }
                left -= piece.len() as u64;
                take(number, piece)?;
                self.touch_if_due()?;
            }
        }
        Ok(())
    }

    fn write(&mut self, path: &str, bytes: &[u8]) -> Result<()> {
        let path = self.at(path);
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder)
                .with_context(|| format!("cannot make {}", folder.display()))?;
        }
        Ok(write_durably(&path, bytes)?)
    }

    fn hold(&mut self, path: &str) -> Result<()> {
        let path = self.at(path);
        touch(&path)?;
        self.lease = Some((path, Instant::now()));
        Ok(())
    }
}

fn touch(path: &Path) -> Result<()> {
    File::options()
        .create(true)
        .append(true)
        .open(path)
        .and_then(|file| file.set_modified(SystemTime::now()))
        .with_context(|| format!("cannot touch {}", path.display()))
}

fn cannot_read(path: &Path) -> String {
    format!(
        "cannot read {}; check the card and that you may read it",
        path.display()
    )
}
