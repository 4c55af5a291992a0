//! Which trips a folder holds.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result, bail};
use jumpseat_trip::Trip;

use crate::home::name_of;

/// A trip to be copied.
#[derive(Debug)]
pub(super) struct SourceTrip {
    /// The name it gets in the library.
    pub(super) name: String,
    /// Its files: sound first, then the rest, so that a journal that is copied
    /// never names a file that is not.
    pub(super) files: Vec<SourceFile>,
    /// What was passed over.
    pub(super) doubts: Vec<String>,
}

/// A file of it.
#[derive(Debug)]
pub(super) struct SourceFile {
    pub(super) path: PathBuf,
    /// Relative to the trip, with "/" between.
    pub(super) name: String,
    pub(super) bytes: u64,
}

/// The trip that the folder is, or the trips in it.
pub(super) fn find(folder: &Path) -> Result<Vec<SourceTrip>> {
    if !folder.exists() {
        bail!(
            "there is no folder {}; give the folder of a trip, or a card or folder with trips in it",
            folder.display()
        );
    }
    if !folder.is_dir() {
        bail!(
            "{} is a file; give the folder of a trip, or a card or folder with trips in it",
            folder.display()
        );
    }
    let whole = fs::canonicalize(folder).with_context(|| cannot_read(folder))?;
    let named = name_of(&whole).starts_with("trip-");
    if named || folder.join("trip.json").exists() || folder.join("journal.jsonl").exists() {
        let name = if named {
            name_of(&whole)
        } else {
            Trip::open(folder)?.id().to_owned()
        };
        return Ok(vec![look(&whole, name)?]);
    }
    let mut trips = Vec::new();
    for entry in list(&whole)? {
        if name_of(&entry).starts_with("trip-") && entry.is_dir() {
            let name = name_of(&entry);
            trips.push(look(&entry, name)?);
        }
    }
    if trips.is_empty() {
        let deeper = whole.join("trips");
        if deeper.is_dir() {
            return find(&deeper);
        }
        bail!(
            "there is no trip in {}: a trip is a folder such as trip-000017-3fa2c1 with \
             trip.json, journal.jsonl and audio in it",
            folder.display()
        );
    }
    Ok(trips)
}

fn look(folder: &Path, name: String) -> Result<SourceTrip> {
    let mut trip = SourceTrip {
        name,
        files: Vec::new(),
        doubts: Vec::new(),
    };
    gather(folder, "", &mut trip)?;
    trip.files.sort_by_key(|file| {
        let last = match file.name.as_str() {
            "trip.json" => 2,
            "journal.jsonl" => 1,
            _ => 0,
        };
        (last, file.name.clone())
    });
    Ok(trip)
}

/// Regular files, hidden ones and links left out: links lead out of the trip.
fn gather(folder: &Path, prefix: &str, trip: &mut SourceTrip) -> Result<()> {
    for path in list(folder)? {
        let own = name_of(&path);
        let name = format!("{prefix}{own}");
        let data = fs::symlink_metadata(&path).with_context(|| cannot_read(&path))?;
        if own.starts_with('.') {
            continue;
        } else if data.is_dir() {
            gather(&path, &format!("{name}/"), trip)?;
        } else if data.is_file() {
            trip.files.push(SourceFile {
                path,
                name,
                bytes: data.len(),
            });
        } else {
            let doubt = format!(
                "{} is neither file nor folder; it was passed over",
                path.display()
            );
            trip.doubts.push(doubt);
        }
    }
    Ok(())
}

fn list(folder: &Path) -> Result<Vec<PathBuf>> {
    let paths: io::Result<Vec<PathBuf>> =
        fs::read_dir(folder).and_then(|entries| entries.map(|entry| Ok(entry?.path())).collect());
    let mut paths = paths.with_context(|| cannot_read(folder))?;
    paths.sort();
    Ok(paths)
}

fn cannot_read(path: &Path) -> String {
    format!(
        "cannot read {}; check the card and that you may read it",
        path.display()
    )
}
