//! A disk with faults, and the journal of a trip folder.

use std::fs;
use std::io::{self, Read, Seek, Write};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use jumpseat_core::journal::{JournalEvent, JournalRecord, verify};
use jumpseat_recorder::storage::{
    CardStorage, DiskStorage, StoredFile, StoredKind, SyncDurability,
};

/// The records of a trip's first journal file.
pub(crate) fn records(trip: &Path) -> Vec<JournalRecord> {
    let text = fs::read_to_string(trip.join("journal.jsonl")).unwrap();
    text.lines()
        .map(|line| serde_json::from_slice(verify(line.as_bytes()).unwrap()).unwrap())
        .collect()
}

/// The events of these records.
pub(crate) fn events(trip: &Path) -> Vec<JournalEvent> {
    records(trip)
        .into_iter()
        .map(|record| record.event)
        .collect()
}

/// A real folder as a card that can run full for audio while the journal still fits, or on
/// which other starts are quicker.
pub(crate) struct WrappedDisk {
    disk: DiskStorage,
    audio_full: Arc<AtomicBool>,
    /// How many more folders another start creates just before this one.
    quicker_starts: u32,
}

impl WrappedDisk {
    /// A card that is full for audio while the flag is set.
    pub(crate) fn filling_up(audio_full: Arc<AtomicBool>) -> Self {
        Self {
            disk: DiskStorage::new(SyncDurability::Relaxed),
            audio_full,
            quicker_starts: 0,
        }
    }

    /// A card on which other starts are quicker this many times.
    pub(crate) fn contended(quicker_starts: u32) -> Self {
        Self {
            quicker_starts,
            ..Self::filling_up(Arc::default())
        }
    }
}

struct WrappedFile {
    file: Box<dyn StoredFile>,
    full: Option<Arc<AtomicBool>>,
}

impl Write for WrappedFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match &self.full {
            Some(full) if full.load(Ordering::Relaxed) => Err(io::ErrorKind::StorageFull.into()),
            _ => self.file.write(bytes),
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.flush()
    }
}

impl Seek for WrappedFile {
    fn seek(&mut self, position: io::SeekFrom) -> io::Result<u64> {
        self.file.seek(position)
    }
}

impl StoredFile for WrappedFile {
    fn sync(&mut self) -> io::Result<()> {
        self.file.sync()
    }
}

impl CardStorage for WrappedDisk {
    fn make_dir(&mut self, dir: &Path) -> io::Result<()> {
        if self.quicker_starts > 0 {
            self.quicker_starts -= 1;
            self.disk.make_dir(dir)?;
        }
        self.disk.make_dir(dir)
    }

    fn create(&mut self, path: &Path) -> io::Result<Box<dyn StoredFile>> {
        let audio = path.extension().is_some_and(|kind| kind == "wav");
        Ok(Box::new(WrappedFile {
            file: self.disk.create(path)?,
            full: audio.then(|| Arc::clone(&self.audio_full)),
        }))
    }

    fn rename(&mut self, from: &Path, to: &Path) -> io::Result<()> {
        self.disk.rename(from, to)
    }

    fn sync_dir(&mut self, dir: &Path) -> io::Result<()> {
        self.disk.sync_dir(dir)
    }

    fn names(&mut self, dir: &Path, most: usize) -> io::Result<Vec<String>> {
        self.disk.names(dir, most)
    }

    fn kind(&mut self, path: &Path) -> io::Result<StoredKind> {
        self.disk.kind(path)
    }

    fn open(&mut self, path: &Path) -> io::Result<Box<dyn Read>> {
        self.disk.open(path)
    }

    fn remove(&mut self, path: &Path) -> io::Result<()> {
        self.disk.remove(path)
    }

    fn remove_tree(&mut self, path: &Path) -> io::Result<()> {
        self.disk.remove_tree(path)
    }

    fn free_bytes(&mut self, dir: &Path) -> io::Result<u64> {
        self.disk.free_bytes(dir)
    }
}
