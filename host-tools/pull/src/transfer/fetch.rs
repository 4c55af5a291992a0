//! Fetches files, and writes and verifies them on threads of their own meanwhile.
//!
//! One thread writes each file, computes its checksum on the way, and reads it back. A
//! second thread waits for the disk. Fetching continues meanwhile. A file that cannot be
//! read fails alone.

use std::fs::{self, File};
use std::io::{Seek as _, Write as _};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, Sender, channel, sync_channel};
use std::thread;
use std::time::SystemTime;

use jumpseat_files::{open_to_append, sync_files};
use jumpseat_values::display::hex;
use sha2::{Digest as _, Sha256};

use crate::checksums::{RecordedSamples, add_to_digest, file_checksum};
use crate::error::PullError;
use crate::progress::PullProgress;
use crate::source::{FetchEvent, FileRange, TripSource};

/// Pieces that may wait to be written: 2 MiB over SFTP.
const MAX_WAITING_PIECES: usize = 8;
/// Longer files are synced one by one while others are fetched, shorter ones together.
const LONG_FILE_BYTES: u64 = 1 << 20;

/// A file to fetch.
#[derive(Debug)]
pub(super) struct FetchTask {
    /// Path in the source.
    pub(super) path: String,
    /// Path in the trip's folder.
    pub(super) name: String,
    pub(super) bytes: u64,
    pub(super) modified: Option<SystemTime>,
    /// Its name here while it is incomplete.
    pub(super) part: PathBuf,
    /// Bytes of the part that are there already.
    pub(super) have: u64,
    /// Its name when it is complete.
    pub(super) to: PathBuf,
    /// What the board recorded about it when it closed it.
    pub(super) recorded: Option<RecordedSamples>,
}

/// The result of fetching a file.
#[derive(Debug)]
pub(super) enum FetchOutcome {
    /// It is verified and synced, and has the name of its part.
    Complete {
        /// SHA-256 in hex.
        sha256: String,
        /// It is what the source has, but not what the board recorded.
        differs_from_journal: bool,
    },
    /// It could not be fetched, for this reason. Its part stays for the next pull.
    Failed(String),
}

/// An event of the file with this index.
type NumberedEvent = (usize, FetchEvent);

/// Fetches files; the complete ones are on the disk when this returns.
///
/// # Errors
/// When the source as a whole stops answering, or the library cannot be written.
pub(super) fn fetch_files(
    source: &mut dyn TripSource,
    tasks: &[FetchTask],
    folder: &Path,
    progress: &PullProgress<'_>,
) -> Result<Vec<FetchOutcome>, PullError> {
    // A part that is complete needs no fetching.
    let (indexes, ranges): (Vec<usize>, Vec<FileRange>) = tasks
        .iter()
        .enumerate()
        .filter(|(_, task)| task.have < task.bytes)
        .map(|(number, task)| {
            let range = FileRange {
                path: task.path.clone(),
                from: task.have,
                length: task.bytes - task.have,
            };
            (number, range)
        })
        .unzip();
    thread::scope(|scope| {
        let (send, pieces) = sync_channel(MAX_WAITING_PIECES);
        let (written, to_sync) = channel();
        let writer = scope.spawn(move || write_files(tasks, &pieces, &written));
        let syncer = scope.spawn(move || sync_each(&to_sync));
        progress.add(tasks.iter().map(|task| task.have).sum());
        let fetched = source.fetch(&ranges, &mut |number, event| {
            let bytes = match &event {
                FetchEvent::Piece(piece) => piece.len() as u64,
                FetchEvent::Failed(_) => 0,
            };
            if send.send((indexes[number], event)).is_err() {
                return Err(PullError::WriterStopped("the writer is gone"));
            }
            progress.add(bytes);
            progress.report_if_due()
        });
        drop(send);
        let panicked = |_| PullError::WriterStopped("a thread failed");
        let written = writer.join().map_err(panicked).flatten();
        let synced = syncer.join().map_err(panicked).flatten();
        // An error of the disk is the cause of the error that fetching then reports.
        let outcomes = written?;
        fetched?;
        synced?;
        sync_short(tasks, &outcomes, folder)?;
        Ok(outcomes)
    })
}

/// Writes the pieces into their files until the last file is done or fetching ends.
fn write_files(
    tasks: &[FetchTask],
    events: &Receiver<NumberedEvent>,
    written: &Sender<UnsyncedFile>,
) -> Result<Vec<FetchOutcome>, PullError> {
    let mut done = Vec::new();
    for (number, task) in tasks.iter().enumerate() {
        let mut part = PartFile::open(task)?;
        let mut failed = None;
        while part.have < task.bytes && failed.is_none() {
            match events.recv() {
                Ok((of, _)) if of != number => {
                    return Err(PullError::WriterStopped("files arrived out of order"));
                }
                Ok((_, FetchEvent::Piece(piece))) => part.append(&piece)?,
                Ok((_, FetchEvent::Failed(why))) => failed = Some(why),
                Err(_) => return Ok(done),
            }
        }
        done.push(match failed {
            Some(why) => {
                if part.have == 0 {
                    fs::remove_file(&task.part)
                        .map_err(PullError::library("remove", &task.part))?;
                }
                FetchOutcome::Failed(why)
            }
            None => part.finish(written)?,
        });
    }
    Ok(done)
}

/// A file that is being written.
struct PartFile<'a> {
    task: &'a FetchTask,
    file: File,
    digest: Sha256,
    have: u64,
}

impl<'a> PartFile<'a> {
    fn open(task: &'a FetchTask) -> Result<Self, PullError> {
        let path = &task.part;
        let mut file = open_to_append(path).map_err(PullError::library("write", path))?;
        let mut digest = Sha256::new();
        let mut have = 0;
        if task.have > 0 {
            file.rewind().map_err(PullError::library("read", path))?;
            have = add_to_digest(&mut file, &mut digest, &|_| ())
                .map_err(PullError::library("read", path))?;
        }
        Ok(Self {
            task,
            file,
            digest,
            have,
        })
    }

    fn append(&mut self, piece: &[u8]) -> Result<(), PullError> {
        self.file
            .write_all(piece)
            .map_err(PullError::library("write", &self.task.part))?;
        self.digest.update(piece);
        self.have += piece.len() as u64;
        Ok(())
    }

    /// Verifies the file, and has it synced if that takes long.
    fn finish(self, written: &Sender<UnsyncedFile>) -> Result<FetchOutcome, PullError> {
        let (task, path) = (self.task, &self.task.part);
        if let Some(modified) = task.modified {
            self.file
                .set_modified(modified)
                .map_err(PullError::library("set the time of", path))?;
        }
        let sha256 = hex(&self.digest.finalize());
        let differs_from_journal = match verify_copy(task, &sha256)? {
            CopyProof::Good => false,
            CopyProof::DiffersFromJournal => true,
            CopyProof::NotAsWritten => {
                fs::remove_file(path).map_err(PullError::library("remove", path))?;
                return Ok(FetchOutcome::Failed(format!(
                    "the copy of {} reads back differently from what was written, and was \
                     removed; check the disk, and pull again",
                    task.name
                )));
            }
        };
        if task.bytes >= LONG_FILE_BYTES {
            // If the syncing thread has ended, it reports why.
            let _ = written.send(UnsyncedFile {
                file: self.file,
                path: path.clone(),
            });
        }
        Ok(FetchOutcome::Complete {
            sha256,
            differs_from_journal,
        })
    }
}

/// Whether a copy is good.
enum CopyProof {
    Good,
    /// It is what the source has, but not what the board recorded.
    DiffersFromJournal,
    /// The disk returns something else than what was written.
    NotAsWritten,
}

/// Reads the copy again and compares it with the journal and with what was written.
fn verify_copy(task: &FetchTask, written: &str) -> Result<CopyProof, PullError> {
    let cannot_read = || PullError::library("read", &task.part);
    if let Some(recorded) = &task.recorded
        && recorded.match_wav(&task.part).map_err(cannot_read())?
    {
        return Ok(CopyProof::Good);
    }
    let read = file_checksum(&task.part, &|_| ()).map_err(cannot_read())?;
    let differs = read.sha256 != written;
    // After a power cut a part may hold something else than what was written.
    let stale = task.recorded.is_some() && task.have > 0;
    Ok(if differs || stale {
        CopyProof::NotAsWritten
    } else if task.recorded.is_some() {
        CopyProof::DiffersFromJournal
    } else {
        CopyProof::Good
    })
}

/// A complete file that may not be on the disk yet.
struct UnsyncedFile {
    file: File,
    path: PathBuf,
}

fn sync_each(files: &Receiver<UnsyncedFile>) -> Result<(), PullError> {
    for UnsyncedFile { file, path } in files {
        file.sync_all().map_err(PullError::library("sync", &path))?;
    }
    Ok(())
}

/// Syncs the short files.
fn sync_short(
    tasks: &[FetchTask],
    outcomes: &[FetchOutcome],
    folder: &Path,
) -> Result<(), PullError> {
    let files: Vec<&Path> = tasks
        .iter()
        .zip(outcomes)
        .filter(|(task, outcome)| {
            task.bytes < LONG_FILE_BYTES && matches!(outcome, FetchOutcome::Complete { .. })
        })
        .map(|(task, _)| task.part.as_path())
        .collect();
    if files.is_empty() {
        return Ok(());
    }
    sync_files(folder, &files).map_err(|(path, error)| PullError::library("sync", &path)(error))
}
