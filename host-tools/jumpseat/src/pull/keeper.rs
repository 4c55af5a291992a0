//! What is fetched, written and proven on threads of their own while more comes.
//!
//! One thread writes a file, takes its checksum on the way, and reads it back; a
//! second one waits for the disk. The fetching goes on meanwhile.

use std::fs::{self, File};
use std::io::{Seek as _, Write as _};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, Sender, channel, sync_channel};
use std::thread;
use std::time::SystemTime;

use anyhow::{Context as _, Result, anyhow, bail};
use jumpseat_log::form::hex;
use sha2::{Digest as _, Sha256};

use super::copy::{cannot, digest_of, sum};
use super::noted::Noted;
use super::source::{Source, Wanted};
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

/// A file that was fetched, proven and synced, under the name of its part.
#[derive(Debug)]
pub(super) struct Kept {
    /// SHA-256 in hex.
    pub(super) sum: String,
    /// It is not what the board wrote down, though it is what the source has.
    pub(super) spoilt: bool,
}

/// Fetches files; all of them are on the disk when this returns.
pub(super) fn fetch(
    source: &mut dyn Source,
    tasks: &[Task],
    folder: &Path,
    watch: &Watch<'_>,
) -> Result<Vec<Kept>> {
    let wanted: Vec<Wanted> = tasks
        .iter()
        .map(|task| Wanted {
            path: task.path.clone(),
            from: task.have,
            length: task.bytes - task.have,
        })
        .collect();
    thread::scope(|scope| {
        let (send, pieces) = sync_channel(MOST_WAITING);
        let (written, to_sync) = channel();
        let keeper = scope.spawn(move || keep(tasks, &pieces, &written));
        let syncer = scope.spawn(move || sync_each(&to_sync));
        watch.add(tasks.iter().map(|task| task.have).sum());
        let fetched = source.fetch(&wanted, &mut |_, piece| {
            let bytes = piece.len() as u64;
            if send.send(piece).is_err() {
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
        sync_short(tasks, folder)?;
        Ok(kept)
    })
}

/// Writes the pieces into their files until the last is whole, or nothing comes
/// any more.
fn keep(
    tasks: &[Task],
    pieces: &Receiver<Vec<u8>>,
    written: &Sender<Written>,
) -> Result<Vec<Kept>> {
    let mut kept = Vec::new();
    for task in tasks {
        let part = &task.part;
        let mut target = File::options()
            .read(true)
            .append(true)
            .create(true)
            .open(part)
            .with_context(|| cannot("write", part))?;
        let mut digest = Sha256::new();
        let mut have = 0;
        if task.have > 0 {
            target.rewind().with_context(|| cannot("read", part))?;
            have = digest_of(&mut target, &mut digest).with_context(|| cannot("read", part))?;
        }
        while have < task.bytes {
            let Ok(piece) = pieces.recv() else {
                return Ok(kept);
            };
            target
                .write_all(&piece)
                .with_context(|| cannot("write", part))?;
            digest.update(&piece);
            have += piece.len() as u64;
        }
        if let Some(modified) = task.modified {
            target
                .set_modified(modified)
                .with_context(|| cannot("set the time of", part))?;
        }
        let sum = hex(&digest.finalize());
        kept.push(Kept {
            spoilt: !reads_back(task, &sum)?,
            sum,
        });
        if task.bytes >= LONG {
            // Whoever waits for it has said why it ended.
            let _ = written.send(Written {
                file: target,
                path: part.clone(),
            });
        }
    }
    Ok(kept)
}

/// Reads the copy again. False when it is not what the board noted.
fn reads_back(task: &Task, read: &str) -> Result<bool> {
    if let Some(noted) = &task.noted
        && noted.is_of(&task.part)?
    {
        return Ok(true);
    }
    let differs = sum(&task.part)? != read;
    // What a power cut left of a part is not always what was written.
    let stale = task.noted.is_some() && task.have > 0;
    if differs || stale {
        fs::remove_file(&task.part).with_context(|| cannot("remove", &task.part))?;
        bail!(
            "the copy of {} does not read back as it was written, and was removed; check the \
             disk, and pull again",
            task.name
        );
    }
    Ok(task.noted.is_none())
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
fn sync_short(tasks: &[Task], folder: &Path) -> Result<()> {
    let short = tasks.iter().filter(|task| task.bytes < LONG);
    let files: Vec<&Path> = short.map(|task| task.part.as_path()).collect();
    if files.is_empty() {
        return Ok(());
    }
    system::sync_all(folder, &files)
        .map_err(|(path, error)| anyhow::Error::new(error).context(cannot("sync", &path)))
}
