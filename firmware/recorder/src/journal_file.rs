//! The journal file on the card: appends records, and syncs them when it matters.
//!
//! A file that could not be written or synced is abandoned: nobody knows what the card
//! holds of it. The lines that were not synced yet are kept in memory and go into another
//! file, `journal-2.jsonl` and so on, as soon as the card accepts one.

use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use jumpseat_core::journal::{BootId, JournalEvent, JournalRecord, encode};

use crate::error::RecorderError;
use crate::storage::{CardStorage, StoredFile, checked};

/// Bytes of records kept in memory while the card accepts nothing: half an hour.
const MAX_UNSYNCED_BYTES: usize = 384 * 1024;
/// Common records are kept only up to this; the rest is reserved for the others.
const MAX_UNSYNCED_COMMON_BYTES: usize = 256 * 1024;

/// The journal of one trip.
pub(crate) struct JournalFile {
    dir: PathBuf,
    /// `None` while no file can be written.
    file: Option<Box<dyn StoredFile>>,
    path: PathBuf,
    /// How many files there have been so far.
    files: u32,
    boot: BootId,
    /// Repeated in every file, so that each identifies its trip.
    header: JournalEvent,
    next_seq: u64,
    last_mono_ns: u64,
    /// Lines that are not synced yet.
    unsynced: Vec<u8>,
}

impl JournalFile {
    /// Creates the journal; the caller syncs the folder.
    pub(crate) fn create(
        storage: &mut dyn CardStorage,
        dir: &Path,
        boot: BootId,
        header: JournalEvent,
    ) -> Result<Self, RecorderError> {
        let path = dir.join(name(1));
        let file = checked::create(storage, &path)?;
        Ok(Self {
            dir: dir.to_owned(),
            file: Some(file),
            path,
            files: 1,
            boot,
            header,
            next_seq: 1,
            last_mono_ns: 0,
            unsynced: Vec::new(),
        })
    }

    /// No file accepts records, so they are kept in memory.
    pub(crate) const fn is_failing(&self) -> bool {
        self.file.is_none()
    }

    /// Every record is synced.
    pub(crate) const fn is_safe(&self) -> bool {
        self.unsynced.is_empty()
    }

    /// Appends a record. It survives the end of the process at once, and a power cut after
    /// [`sync`](Self::sync).
    pub(crate) fn append(
        &mut self,
        mono_ns: u64,
        event: JournalEvent,
    ) -> Result<(), RecorderError> {
        let kept = self.unsynced.len();
        if kept >= MAX_UNSYNCED_BYTES || (kept >= MAX_UNSYNCED_COMMON_BYTES && is_common(&event)) {
            // The card has accepted nothing for long, which has raised an alarm already.
            return Ok(());
        }
        let line = self.line(mono_ns, event)?;
        self.next_seq += 1;
        self.last_mono_ns = mono_ns;
        self.unsynced.extend_from_slice(&line);
        let Some(file) = &mut self.file else {
            return Ok(());
        };
        let written = file.write_all(&line);
        written.map_err(|source| self.abandon("write", source))
    }

    /// Appends the header, which every journal begins with.
    pub(crate) fn append_header(&mut self, mono_ns: u64) -> Result<(), RecorderError> {
        self.append(mono_ns, self.header.clone())
    }

    /// The next record as a line.
    fn line(&self, mono_ns: u64, event: JournalEvent) -> Result<Vec<u8>, RecorderError> {
        let record = JournalRecord {
            seq: self.next_seq,
            boot: self.boot.clone(),
            mono_ns,
            event,
        };
        let line = encode(&record).map_err(|error| {
            RecorderError::io("encode a record for", &self.path, io::Error::other(error))
        })?;
        Ok(line.to_vec())
    }

    /// Syncs every record, in another file if necessary.
    pub(crate) fn sync(&mut self, storage: &mut dyn CardStorage) -> Result<(), RecorderError> {
        if self.unsynced.is_empty() {
            return Ok(());
        }
        let Some(file) = &mut self.file else {
            return self.begin_next_file(storage);
        };
        match file.sync() {
            Ok(()) => {
                self.unsynced.clear();
                Ok(())
            }
            Err(source) => {
                let error = self.abandon("sync", source);
                // If this succeeds the records are synced, but the error is still reported.
                self.begin_next_file(storage).and(Err(error))
            }
        }
    }

    fn abandon(&mut self, doing: &'static str, source: io::Error) -> RecorderError {
        self.file = None;
        RecorderError::io(doing, &self.path, source)
    }

    /// Writes the unsynced lines into a new file, followed by the header.
    fn begin_next_file(&mut self, storage: &mut dyn CardStorage) -> Result<(), RecorderError> {
        let path = self.dir.join(name(self.files + 1));
        let header = self.line(self.last_mono_ns, self.header.clone())?;
        match create_filled(storage, &path, &[&self.unsynced, &header]) {
            Ok(file) => {
                self.next_seq += 1;
                checked::sync_dir(storage, &self.dir)?;
                self.files += 1;
                self.path = path;
                self.file = Some(file);
                self.unsynced.clear();
                Ok(())
            }
            Err(source) => {
                if source.kind() == io::ErrorKind::AlreadyExists || storage.remove(&path).is_err() {
                    // Its name is taken by a file that cannot be trusted.
                    self.files += 1;
                }
                Err(RecorderError::io("write", &path, source))
            }
        }
    }
}

fn create_filled(
    storage: &mut dyn CardStorage,
    path: &Path,
    lines: &[&[u8]],
) -> io::Result<Box<dyn StoredFile>> {
    let mut file = storage.create(path)?;
    for lines in lines {
        file.write_all(lines)?;
    }
    file.sync()?;
    Ok(file)
}

/// `journal.jsonl` for the first file, `journal-2.jsonl` and so on for later ones.
fn name(number: u32) -> String {
    match number {
        0 | 1 => "journal.jsonl".to_owned(),
        _ => format!("journal-{number}.jsonl"),
    }
}

/// Records that are so frequent that one more or less does not matter.
const fn is_common(event: &JournalEvent) -> bool {
    matches!(
        event,
        JournalEvent::Clock { .. }
            | JournalEvent::TimeFix { .. }
            | JournalEvent::PositionFix { .. }
            | JournalEvent::Level { .. }
    )
}
