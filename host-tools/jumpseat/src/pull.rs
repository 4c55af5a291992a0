//! Trips into the library: every file verified, nothing half done under its own
//! name, the same again changes nothing.
//!
//! A new trip is copied into a hidden folder beside its place and takes its name
//! when it is whole. Each file is copied under a temporary name, synced, read back
//! from the copy, compared by SHA-256 with what was read from the source, and only
//! then renamed. What an interrupted pull copied is found by the next one, which
//! goes on in the middle of a file. When a trip is whole and proven, its receipt
//! goes back to the card.

mod copy;
mod find;
mod folder;
mod names;
mod receipt;
mod sftp;
mod source;
mod sums;

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::time::Duration;

use anyhow::{Context as _, Result, bail};

use crate::home::Home;
use crate::progress::Progress;
use crate::text::bytes;
use copy::{Copied, copy};
use find::{Found, SourceTrip, find};
use folder::Folder;
use sftp::Sftp;
use source::Source;
use sums::Sums;

/// In the card's folder; the board stays awake for two minutes after each touch.
const LEASE: &str = "pull-lease";
const LEASE_EVERY: Duration = Duration::from_secs(20);

/// What is asked for.
#[derive(Debug)]
pub(crate) struct Request<'a> {
    /// A folder, or `ssh://[user@]host[:port][/path]`.
    pub(crate) source: &'a str,
    /// What is here already is read and compared as well.
    pub(crate) verify: bool,
    /// A configuration file for ssh in place of the usual ones.
    pub(crate) ssh_config: Option<&'a Path>,
    /// Bytes that a source may bring at most.
    pub(crate) at_most: u64,
}

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
    /// What is worth a word but harms nothing here.
    pub(crate) notes: Vec<String>,
}

/// Copies the trips of a source into the library.
pub(crate) fn pull(home: &Home, request: &Request<'_>) -> Result<Vec<Report>> {
    let mut source: Box<dyn Source> = if request.source.starts_with("ssh://") {
        Box::new(Sftp::connect(request.source, request.ssh_config)?)
    } else {
        Box::new(Folder::new(Path::new(request.source)))
    };
    let source = source.as_mut();
    let found = find(source)?;
    let library = home.trips();
    fs::create_dir_all(&library)
        .with_context(|| format!("cannot make the library {}", library.display()))?;
    let _alone = lock(&library)?;
    let files = found.trips.iter().flat_map(|trip| &trip.files);
    // A hostile source may name lengths whose sum does not fit.
    let total = files.fold(0, |sum: u64, file| sum.saturating_add(file.bytes));
    if total > request.at_most {
        bail!(
            "{} holds {} of trips, more than a pull may bring. If that is right, pull with \
             --at-most-gb {}",
            source.say(""),
            bytes(total),
            total / 1_000_000_000 + 1
        );
    }
    let progress = Progress::new("copying", total, true);
    let mut holding = false;
    let mut reports = Vec::new();
    for trip in &found.trips {
        let mut report = Report::of(trip);
        if let Some(card) = &found.card
            && !holding
            && !is_here(&library, trip)
        {
            holding = true;
            if let Err(error) = source.hold(&format!("{card}{LEASE}")) {
                report.notes.push(format!(
                    "a board that is parked may fall asleep before the end: {error:#}"
                ));
            }
        }
        bring(
            source,
            trip,
            &library,
            request.verify,
            &progress,
            &mut report,
        )?;
        confirm(source, &found, trip, &library, &mut report)?;
        reports.push(report);
    }
    Ok(reports)
}

impl Report {
    fn of(trip: &SourceTrip) -> Self {
        Self {
            trip: trip.name.clone(),
            copied: 0,
            bytes: 0,
            present: 0,
            doubts: trip.doubts.clone(),
            notes: Vec::new(),
        }
    }
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

/// Whether there is nothing to fetch, as far as lengths tell.
fn is_here(library: &Path, trip: &SourceTrip) -> bool {
    let place = library.join(&trip.name);
    trip.files.iter().all(|file| {
        let copy = fs::metadata(place.join(&file.name));
        copy.is_ok_and(|copy| copy.len() == file.bytes)
    })
}

/// Brings one trip into the library.
fn bring(
    source: &mut dyn Source,
    trip: &SourceTrip,
    library: &Path,
    verify: bool,
    progress: &Progress,
    report: &mut Report,
) -> Result<()> {
    let place = library.join(&trip.name);
    let staging = library.join(format!(".{}.part", trip.name));
    let known = place.is_dir();
    let folder = if known { &place } else { &staging };
    if trip.files.is_empty() {
        let doubt = "there is nothing in it; it was not copied";
        report.doubts.push(doubt.into());
        return Ok(());
    }
    fs::create_dir_all(folder).with_context(|| format!("cannot make {}", folder.display()))?;
    let mut sums = Sums::read(folder)?;
    let mut changed: BTreeSet<PathBuf> = BTreeSet::new();
    for file in &trip.files {
        let to = folder.join(&file.name);
        match copy(source, file, &to, sums.of(&file.name), verify, progress)? {
            Copied::Whole { sum } => {
                report.copied += 1;
                report.bytes += file.bytes;
                sums.set(&file.name, sum)?;
                changed.extend(to.parent().map(Path::to_owned));
            }
            Copied::Present => report.present += 1,
            Copied::Differs => report.doubts.push(format!(
                "{} differs from the copy in the library, which was kept",
                source.say(&file.path)
            )),
        }
    }
    for folder in &changed {
        sync(folder)?;
    }
    sums.write()?;
    if !known {
        sync(folder)?;
        fs::rename(folder, &place).with_context(|| format!("cannot name {}", place.display()))?;
        sync(library)?;
    }
    Ok(())
}

/// Gives the receipt of a trip that is here without any doubt.
fn confirm(
    source: &mut dyn Source,
    found: &Found,
    trip: &SourceTrip,
    library: &Path,
    report: &mut Report,
) -> Result<()> {
    let Some(card) = &found.card else {
        return Ok(());
    };
    if !report.doubts.is_empty() {
        return Ok(());
    }
    let sums = Sums::read(&library.join(&trip.name))?;
    if let Err(error) = receipt::give(source, card, trip, &sums) {
        report.notes.push(format!(
            "the receipt was not written, so the board will keep the trip: {error:#}"
        ));
    }
    Ok(())
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
