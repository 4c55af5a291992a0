//! What is fetched, written and proven on threads of their own while more comes.
//!
//! One thread writes a file, takes its checksum on the way, and reads it back; a
//! second one waits for the disk. The fetching goes on meanwhile. A file that cannot
//! be had is told as failed, and the others come all the same.

use std::fs::{self, File};
use std::io::{Seek as _, Write as _};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, Sender, channel, sync_channel};
use std::thread;
use std::time::SystemTime;

use anyhow::{Context as _, Result, anyhow, bail};
use jumpseat_values::display::hex;
use sha2::{Digest as _, Sha256};

use super::copy::{cannot, digest_of, file_checksum};
use super::noted::RecordedSamples;
use super::source::{FetchEvent, FileRange, TripSource};
use super::watch::PullProgress;
use crate::system;

/// Pieces that may wait to be written: 2 MiB over SFTP.
const MAX_WAITING_PIECES: usize = 8;
/// Longer files are synced one by one while more comes, the others together.
const LONG_FILE_BYTES: u64 = 1 << 20;

/// A file that is to be fetched.
#[derive(Debug)]
pub(super) struct FetchTask {
    /// In the source.
    pub(super) path: String,
    /// From the trip's folder.
    pub(super) name: String,
    pub(super) bytes: u64,
    pub(super) modified: Option<SystemTime>,
    /// Its name here while it is not whole, and how much of it there is.
    pub(super) part: PathBuf,
    pub(super) have: u64,
    /// Its name when it is.
    pub(super) to: PathBuf,
    /// What the board wrote down of it when it closed it.
    pub(super) noted: Option<RecordedSamples>,
}

/// What became of a file that was to be fetched.
#[derive(Debug)]
pub(super) enum FetchOutcome {
    /// It was proven and synced, and lies under the name of its part.
    Whole {
        /// SHA-256 in hex.
        sum: String,
        /// It is not what the board wrote down, though it is what the source has.
        spoilt: bool,
    },
    /// It did not come, for this reason. What there is of it stays for the next pull.
    Failed(String),
}

/// What came of the file with this number.
type NumberedEvent = (usize, FetchEvent);

/// Fetches files; all that came are on the disk when this returns.
///
/// # Errors
/// When the source as a whole does not answer any more, or the disk takes no more.
pub(super) fn fetch(
    source: &mut dyn TripSource,
    tasks: &[FetchTask],
    folder: &Path,
    watch: &PullProgress<'_>,
) -> Result<Vec<FetchOutcome>> {
    // Of a part that is whole nothing is wanted.
    let (whose, wanted): (Vec<usize>, Vec<FileRange>) = tasks
        .iter()
        .enumerate()
        .filter(|(_, task)| task.have < task.bytes)
        .map(|(number, task)| {
            let wanted = FileRange {
                path: task.path.clone(),
                from: task.have,
                length: task.bytes - task.have,
            };
            (number, wanted)
        })
        .unzip();
    thread::scope(|scope| {
        let (send, pieces) = sync_channel(MAX_WAITING_PIECES);
        let (written, to_sync) = channel();
        let keeper = scope.spawn(move || write_files(tasks, &pieces, &written));
        let syncer = scope.spawn(move || sync_each(&to_sync));
        watch.add(tasks.iter().map(|task| task.have).sum());
        let fetched = source.fetch(&wanted, &mut |number, got| {
            let bytes = match &got {
                FetchEvent::Piece(piece) => piece.len() as u64,
                FetchEvent::Failed(_) => 0,
            };
            if send.send((whose[number], got)).is_err() {
                bail!("nothing more is written");
            }
            watch.add(bytes);
            watch.tell()
        });
        drop(send);
        let broken = |_| anyhow!("writing broke off; pull again");
        let kept = keeper.join().map_err(broken).flatten();
        let synced = syncer.join().map_err(broken).flatten();
        // A disk that takes no more is the cause of what the fetching says then.
        let kept = kept?;
        fetched?;
        synced?;
        sync_short(tasks, &kept, folder)?;
        Ok(kept)
    })
}

/// Writes what comes into its files until the last is done with, or nothing comes any
/// more.
fn write_files(
    tasks: &[FetchTask],
    coming: &Receiver<NumberedEvent>,
    written: &Sender<UnsyncedFile>,
) -> Result<Vec<FetchOutcome>> {
    let mut done = Vec::new();
    for (number, task) in tasks.iter().enumerate() {
        let mut part = PartFile::open(task)?;
        let mut failed = None;
        while part.have < task.bytes && failed.is_none() {
            match coming.recv() {
                Ok((of, _)) if of != number => bail!("files came out of their order; pull again"),
                Ok((_, FetchEvent::Piece(piece))) => part.append(&piece)?,
                Ok((_, FetchEvent::Failed(why))) => failed = Some(why),
                Err(_) => return Ok(done),
            }
        }
        done.push(match failed {
            Some(why) => {
                if part.have == 0 {
                    fs::remove_file(&task.part).with_context(|| cannot("remove", &task.part))?;
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
    fn open(task: &'a FetchTask) -> Result<Self> {
        let path = &task.part;
        let mut file = system::open_to_append(path).with_context(|| cannot("write", path))?;
        let mut digest = Sha256::new();
        let mut have = 0;
        if task.have > 0 {
            file.rewind().with_context(|| cannot("read", path))?;
            have = digest_of(&mut file, &mut digest).with_context(|| cannot("read", path))?;
        }
        Ok(Self {
            task,
            file,
            digest,
            have,
        })
    }

    fn append(&mut self, piece: &[u8]) -> Result<()> {
        self.file
            .write_all(piece)
            .with_context(|| cannot("write", &self.task.part))?;
        self.digest.update(piece);
        self.have += piece.len() as u64;
        Ok(())
    }

    /// Proves it, and lets it be synced if that takes long.
    fn finish(self, written: &Sender<UnsyncedFile>) -> Result<FetchOutcome> {
        let (task, path) = (self.task, &self.task.part);
        if let Some(modified) = task.modified {
            self.file
                .set_modified(modified)
                .with_context(|| cannot("set the time of", path))?;
        }
        let sum = hex(&self.digest.finalize());
        let spoilt = match proof(task, &sum)? {
            CopyProof::Whole => false,
            CopyProof::Spoilt => true,
            CopyProof::NotAsWritten => {
                fs::remove_file(path).with_context(|| cannot("remove", path))?;
                return Ok(FetchOutcome::Failed(format!(
                    "the copy of {} does not read back as it was written, and was removed; check \
                     the disk, and pull again",
                    task.name
                )));
            }
        };
        if task.bytes >= LONG_FILE_BYTES {
            // Whoever waits for it has said why it ended.
            let _ = written.send(UnsyncedFile {
                file: self.file,
                path: path.clone(),
            });
        }
        Ok(FetchOutcome::Whole { sum, spoilt })
    }
}

enum CopyProof {
    Whole,
    /// It is not what the board noted.
    Spoilt,
    NotAsWritten,
}

/// Reads the copy again.
fn proof(task: &FetchTask, read: &str) -> Result<CopyProof> {
    if let Some(noted) = &task.noted
        && noted.is_of(&task.part)?
    {
        return Ok(CopyProof::Whole);
    }
    let differs = file_checksum(&task.part)? != read;
    // What a power cut left of a part is not always what was written.
    let stale = task.noted.is_some() && task.have > 0;
    Ok(if differs || stale {
        CopyProof::NotAsWritten
    } else if task.noted.is_some() {
        CopyProof::Spoilt
    } else {
        CopyProof::Whole
    })
}

/// A file that is whole and not yet known to be on the disk.
struct UnsyncedFile {
    file: File,
    path: PathBuf,
}

fn sync_each(written: &Receiver<UnsyncedFile>) -> Result<()> {
    for written in written {
        let synced = written.file.sync_all();
        synced.with_context(|| cannot("sync", &written.path))?;
    }
    Ok(())
}

/// Brings the short files to the disk.
fn sync_short(tasks: &[FetchTask], fetched: &[FetchOutcome], folder: &Path) -> Result<()> {
    let files: Vec<&Path> = tasks
        .iter()
        .zip(fetched)
        .filter(|(task, fetched)| {
            task.bytes < LONG_FILE_BYTES && matches!(fetched, FetchOutcome::Whole { .. })
        })
        .map(|(task, _)| task.part.as_path())
        .collect();
    if files.is_empty() {
        return Ok(());
    }
    system::sync_all(folder, &files)
        .map_err(|(path, error)| anyhow::Error::new(error).context(cannot("sync", &path)))
}
