//! The journal on the card: append, and sync when it matters.

use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use jumpseat_core::journal::{BootId, Event, Record, encode};

use crate::error::RecorderError;
use crate::storage::{Storage, StoredFile};

/// `journal.jsonl` of one trip.
pub(crate) struct JournalFile {
    file: Box<dyn StoredFile>,
    path: PathBuf,
    boot: BootId,
    next_seq: u64,
    unsynced: bool,
    /// The last write failed half-way: the next one begins a new line.
    torn: bool,
}

impl JournalFile {
    pub(crate) fn create(
        storage: &mut dyn Storage,
        dir: &Path,
        boot: BootId,
    ) -> Result<Self, RecorderError> {
        let path = dir.join("journal.jsonl");
        let file = storage
            .create(&path)
            .map_err(|source| RecorderError::io("create", &path, source))?;
        Ok(Self {
            file,
            path,
            boot,
            next_seq: 1,
            unsynced: false,
            torn: false,
        })
    }

    /// Appends a record; it survives the end of the process, but a power cut
    /// only after [`sync`](Self::sync).
    pub(crate) fn append(&mut self, mono_ns: u64, event: Event) -> Result<(), RecorderError> {
        let record = Record {
            seq: self.next_seq,
            boot: self.boot.clone(),
            mono_ns,
            event,
        };
        let line = encode(&record).map_err(|error| {
            RecorderError::io("encode for", &self.path, io::Error::other(error))
        })?;
        if self.torn {
            self.write(b"\n")?;
        }
        self.torn = true;
        self.write(&line)?;
        self.torn = false;
        self.next_seq += 1;
        self.unsynced = true;
        Ok(())
    }

    pub(crate) fn sync(&mut self) -> Result<(), RecorderError> {
        if !self.unsynced {
            return Ok(());
        }
        self.file
            .sync()
            .map_err(|source| RecorderError::io("sync", &self.path, source))?;
        self.unsynced = false;
        Ok(())
    }

    fn write(&mut self, bytes: &[u8]) -> Result<(), RecorderError> {
        self.file
            .write_all(bytes)
            .map_err(|source| RecorderError::io("write", &self.path, source))
    }
}
