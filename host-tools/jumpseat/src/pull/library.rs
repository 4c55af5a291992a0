//! The folder of trips at home, for one pull at a time.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result, bail};
use jumpseat_log::make_private_folder;
use jumpseat_trip::Kept;

use super::find::{SourceFile, SourceTrip};
use super::identity::identity;
use crate::home::name_of;
use crate::text::bytes;

/// What a pull leaves free on the disk.
const SPARE: u64 = 200_000_000;

/// The library; nobody else pulls into it while this lives.
pub(super) struct Library {
    dir: PathBuf,
    /// Trips whose folder a person renamed.
    renamed: BTreeMap<String, PathBuf>,
    _alone: File,
}

impl Library {
    /// Opens it; makes it where there is none.
    pub(super) fn open(dir: &Path) -> Result<Self> {
        make_private_folder(dir).with_context(|| {
            format!(
                "cannot make the library {}; check that you may write there, or name another \
                 folder with --home",
                dir.display()
            )
        })?;
        let alone = lock(dir)?;
        let cannot_list = || format!("cannot list {}", dir.display());
        let mut renamed = BTreeMap::new();
        for entry in fs::read_dir(dir).with_context(cannot_list)? {
            let path = entry.with_context(cannot_list)?.path();
            let name = name_of(&path);
            if let Some(own) = identity(&path).name()
                && !name.starts_with('.')
                && own != name
            {
                renamed.insert(own, path);
            }
        }
        Ok(Self {
            dir: dir.to_owned(),
            renamed,
            _alone: alone,
        })
    }

    pub(super) fn dir(&self) -> &Path {
        &self.dir
    }

    /// The folder of a trip; where it should be when there is none.
    pub(super) fn place(&self, trip: &str) -> PathBuf {
        let usual = self.dir.join(trip);
        match self.renamed.get(trip) {
            Some(renamed) if !usual.is_dir() => renamed.clone(),
            _ => usual,
        }
    }

    /// Refuses what would fill the disk; `command` is how one for this home begins.
    pub(super) fn make_sure_of_room(&self, trips: &[SourceTrip], command: &str) -> Result<()> {
        let missing = trips.iter().filter(|trip| !self.has(trip));
        let files = missing.flat_map(|trip| &trip.files);
        let needed = files.fold(0, |sum: u64, file| sum.saturating_add(file.bytes));
        let free = free(&self.dir)?;
        if needed > 0 && needed.saturating_add(SPARE) > free {
            bail!(
                "{} has {} free, {} are to come and {} stay free. Make room (`{command} keep` shows \
                 what could go), and pull again",
                self.dir.display(),
                bytes(free),
                bytes(needed),
                bytes(SPARE)
            );
        }
        Ok(())
    }

    /// Whether there is nothing to fetch, as far as lengths tell.
    pub(super) fn has(&self, trip: &SourceTrip) -> bool {
        let place = self.place(&trip.name);
        let kept = Kept::read(&place);
        trip.files.iter().all(|file| {
            let copy = fs::metadata(place.join(&file.name));
            is_kept(kept.as_ref(), file) || copy.is_ok_and(|copy| copy.len() == file.bytes)
        })
    }
}

/// Whether the file was here, and was packed or let go on purpose.
pub(super) fn is_kept(kept: Option<&Kept>, file: &SourceFile) -> bool {
    let mut files = kept.into_iter().flat_map(|kept| &kept.files);
    files.any(|kept| kept.path == file.name && kept.bytes == file.bytes)
}

/// Bytes that are free on the disk of a folder.
fn free(folder: &Path) -> Result<u64> {
    fs4::available_space(folder)
        .with_context(|| format!("cannot ask the space of {}", folder.display()))
}

/// Two pulls at once would write the same files.
fn lock(library: &Path) -> Result<File> {
    let path = library.join(".lock");
    let file = File::create(&path).with_context(|| format!("cannot write {}", path.display()))?;
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(fs::TryLockError::WouldBlock) => bail!(
            "another pull into {} is running; wait for it to end",
            library.display()
        ),
        Err(fs::TryLockError::Error(error)) => {
            Err(error).with_context(|| format!("cannot lock {}", path.display()))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn where_there_is_no_room_the_way_to_make_some_is_of_this_home() {
        let folder = tempfile::tempdir().unwrap();
        let library = Library::open(&folder.path().join("trips")).unwrap();
        let trip = |bytes| SourceTrip {
            name: "trip-000001-3fa2c1".into(),
            files: vec![SourceFile {
                path: "journal.jsonl".into(),
                name: "journal.jsonl".into(),
                bytes,
                modified: None,
            }],
            doubts: Vec::new(),
            notes: Vec::new(),
            under_its_name: true,
        };
        library.make_sure_of_room(&[trip(0)], "jumpseat").unwrap();
        let full = library.make_sure_of_room(&[trip(u64::MAX)], "jumpseat --home here");
        let words = full.unwrap_err().to_string();
        assert!(words.contains("`jumpseat --home here keep`"), "{words}");
    }
}
