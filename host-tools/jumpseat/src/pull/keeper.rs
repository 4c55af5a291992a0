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

use super::copy::{cannot, digest_of, sum};
use super::noted::Noted;
use super::source::{Got, Source, Wanted};
use super::watch::Watch;
use crate::system;

/// Pieces that may wait to be written: 2 MiB over SFTP.
const MOST_WAITING: usize = 8;
/// Longer files are synced one by one while more comes, the others together.
const LONG: u64 = 1 << 20;

/// A file that is to be fetched.
#[derive(Debug)]
pub(super) struct Task {
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
    pub(super) noted: Option<Noted>,
}

/// What became of a file that was to be fetched.
#[derive(Debug)]
pub(super) enum Fetched {
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
type Coming = (usize, Got);

/// Fetches files; all that came are on the disk when this returns.
///
/// # Errors
/// When the source as a whole does not answer any more, or the disk takes no more.
pub(super) fn fetch(
    source: &mut dyn Source,
    tasks: &[Task],
    folder: &Path,
    watch: &Watch<'_>,
) -> Result<Vec<Fetched>> {
    // Of a part that is whole nothing is wanted.
    let (whose, wanted): (Vec<usize>, Vec<Wanted>) = tasks
        .iter()
        .enumerate()
        .filter(|(_, task)| task.have < task.bytes)
        .map(|(number, task)| {
            let wanted = Wanted {
                path: task.path.clone(),
                from: task.have,
                length: task.bytes - task.have,
            };
            (number, wanted)
        })
        .unzip();
    thread::scope(|scope| {
        let (send, pieces) = sync_channel(MOST_WAITING);
        let (written, to_sync) = channel();
        let keeper = scope.spawn(move || keep(tasks, &pieces, &written));
        let syncer = scope.spawn(move || sync_each(&to_sync));
        watch.add(tasks.iter().map(|task| task.have).sum());
        let fetched = source.fetch(&wanted, &mut |number, got| {
            let bytes = match &got {
                Got::Piece(piece) => piece.len() as u64,
                Got::Failed(_) => 0,
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
fn keep(
    tasks: &[Task],
    coming: &Receiver<Coming>,
    written: &Sender<Written>,
) -> Result<Vec<Fetched>> {
    let mut done = Vec::new();
    for (number, task) in tasks.iter().enumerate() {
        let mut part = Part::open(task)?;
        let mut failed = None;
        while part.have < task.bytes && failed.is_none() {
            match coming.recv() {
                Ok((of, _)) if of != number => bail!("files came out of their order; pull again"),
                Ok((_, Got::Piece(piece))) => part.append(&piece)?,
                Ok((_, Got::Failed(why))) => failed = Some(why),
                Err(_) => return Ok(done),
            }
        }
        done.push(match failed {
            Some(why) => {
                if part.have == 0 {
                    fs::remove_file(&task.part).with_context(|| cannot("remove", &task.part))?;
                }
                Fetched::Failed(why)
            }
            None => part.finish(written)?,
        });
    }
    Ok(done)
}

/// A file that is being written.
struct Part<'a> {
    task: &'a Task,
    file: File,
    digest: Sha256,
    have: u64,
}

impl<'a> Part<'a> {
    fn open(task: &'a Task) -> Result<Self> {
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
    fn finish(self, written: &Sender<Written>) -> Result<Fetched> {
        let (task, path) = (self.task, &self.task.part);
        if let Some(modified) = task.modified {
            self.file
                .set_modified(modified)
                .with_context(|| cannot("set the time of", path))?;
        }
        let sum = hex(&self.digest.finalize());
        let spoilt = match proof(task, &sum)? {
            Proof::Whole => false,
            Proof::Spoilt => true,
            Proof::NotAsWritten => {
                fs::remove_file(path).with_context(|| cannot("remove", path))?;
                return Ok(Fetched::Failed(format!(
                    "the copy of {} does not read back as it was written, and was removed; check \
                     the disk, and pull again",
                    task.name
                )));
            }
        };
        if task.bytes >= LONG {
            // Whoever waits for it has said why it ended.
            let _ = written.send(Written {
                file: self.file,
                path: path.clone(),
            });
        }
        Ok(Fetched::Whole { sum, spoilt })
    }
}

enum Proof {
    Whole,
    /// It is not what the board noted.
    Spoilt,
    NotAsWritten,
}

/// Reads the copy again.
fn proof(task: &Task, read: &str) -> Result<Proof> {
    if let Some(noted) = &task.noted
        && noted.is_of(&task.part)?
    {
        return Ok(Proof::Whole);
    }
    let differs = sum(&task.part)? != read;
    // What a power cut left of a part is not always what was written.
    let stale = task.noted.is_some() && task.have > 0;
    Ok(if differs || stale {
        Proof::NotAsWritten
    } else if task.noted.is_some() {
        Proof::Spoilt
    } else {
        Proof::Whole
    })
}

/// A file that is whole and not yet known to be on the disk.
struct Written {
    file: File,
    path: PathBuf,
}

fn sync_each(written: &Receiver<Written>) -> Result<()> {
    for written in written {
        let synced = written.file.sync_all();
        synced.with_context(|| cannot("sync", &written.path))?;
    }
    Ok(())
}

/// Brings the short files to the disk.
fn sync_short(tasks: &[Task], fetched: &[Fetched], folder: &Path) -> Result<()> {
    let files: Vec<&Path> = tasks
        .iter()
        .zip(fetched)
        .filter(|(task, fetched)| task.bytes < LONG && matches!(fetched, Fetched::Whole { .. }))
        .map(|(task, _)| task.part.as_path())
        .collect();
    if files.is_empty() {
        return Ok(());
    }
    system::sync_all(folder, &files)
        .map_err(|(path, error)| anyhow::Error::new(error).context(cannot("sync", &path)))
}
