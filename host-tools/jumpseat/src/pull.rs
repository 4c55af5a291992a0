//! Trips into the library: every file verified, nothing half done under its own
//! name, the same again changes nothing.
//!
//! A new trip is copied into a hidden folder beside its place and takes its name
//! when it is whole. Each file is copied under a temporary name, synced, read back
//! from the copy, compared by SHA-256 with what was read from the source, and only
//! then renamed. What an interrupted pull copied is found by the next one.

mod copy;
mod source;
mod sums;

use std::fs::{self, File};
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result, bail};

use crate::home::Home;
use crate::progress::Progress;
use copy::{Copied, copy};
use source::{SourceTrip, find};
use sums::Sums;

/// What was done about one trip.
#[derive(Debug)]
pub(crate) struct Report {
    /// Its name in the library.
    pub(crate) trip: String,
    /// Files copied.
    pub(crate) copied: usize,
    /// Bytes in them.
    pub(crate) bytes: u64,
    /// Files that were in the library already.
    pub(crate) present: usize,
    /// What a person should know.
    pub(crate) doubts: Vec<String>,
}

/// Copies the trips of a folder into the library. With `verify`, what is there
/// already is read and compared as well.
pub(crate) fn pull(home: &Home, source: &str, verify: bool) -> Result<Vec<Report>> {
    if source.starts_with("ssh://") {
        bail!(
            "trips cannot be fetched over SSH yet. Put the card into this computer, or copy the \
             board's trips folder here (for example with scp -r), then `jumpseat pull FOLDER`"
        );
    }
    let found = find(Path::new(source))?;
    let library = home.trips();
    fs::create_dir_all(&library)
        .with_context(|| format!("cannot make the library {}", library.display()))?;
    let _alone = lock(&library)?;
    let total = found
        .iter()
        .flat_map(|trip| &trip.files)
        .map(|file| file.bytes)
        .sum();
    let progress = Progress::new("copying", total, true);
    found
        .iter()
        .map(|trip| bring(trip, &library, verify, &progress))
        .collect()
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

/// Brings one trip into the library.
fn bring(trip: &SourceTrip, library: &Path, verify: bool, progress: &Progress) -> Result<Report> {
    let place = library.join(&trip.name);
    let staging = library.join(format!(".{}.part", trip.name));
    let known = place.is_dir();
    let folder = if known { &place } else { &staging };
    let mut report = Report {
        trip: trip.name.clone(),
        copied: 0,
        bytes: 0,
        present: 0,
        doubts: trip.doubts.clone(),
    };
    if trip.files.is_empty() {
        report
            .doubts
            .push("there is nothing in it; it was not copied".into());
        return Ok(report);
    }
    fs::create_dir_all(folder).with_context(|| format!("cannot make {}", folder.display()))?;
    let mut sums = Sums::read(folder)?;
    for file in &trip.files {
        let to = folder.join(&file.name);
        match copy(&file.path, &to, sums.of(&file.name), verify)? {
            Copied::Whole { sum, bytes } => {
                report.copied += 1;
                report.bytes += bytes;
                sums.set(&file.name, sum);
            }
            Copied::Present => report.present += 1,
            Copied::Differs => report.doubts.push(format!(
                "{} differs from the copy in the library, which was kept",
                file.path.display()
            )),
        }
        progress.add(file.bytes);
    }
    sums.write(folder)?;
    if !known {
        sync(folder)?;
        fs::rename(folder, &place).with_context(|| format!("cannot name {}", place.display()))?;
        sync(library)?;
    }
    Ok(report)
}

/// Names in a folder are durable once the folder is synced (Unix only).
fn sync(folder: &Path) -> Result<()> {
    if cfg!(unix) {
        File::open(folder)
            .and_then(|folder| folder.sync_all())
            .with_context(|| format!("cannot sync {}", folder.display()))?;
    }
    Ok(())
}

/// A name beside a file that a pull of ours may leave behind and will use again.
fn part(path: &Path) -> PathBuf {
    let mut name = std::ffi::OsString::from(".");
    name.push(path.file_name().unwrap_or_default());
    name.push(".part");
    path.with_file_name(name)
}
