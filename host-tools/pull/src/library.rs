//! The folder of trips at home, locked for one pull at a time, and the place in it for
//! each trip.

mod sound;

use std::collections::BTreeSet;
use std::fs::{self, File, TryLockError};
use std::path::{Path, PathBuf};

use jumpseat_files::{file_name, make_private_folder, open_to_append};
use jumpseat_trip::{RetentionManifest, name_on_board};

use crate::error::PullError;
use crate::identity::{TripEvidence, TripLikeness, read_evidence};
use crate::source::TripSource;
use crate::source_trip::{SourceFile, SourceTrip};
use sound::is_same_sound;

/// Bytes that a pull leaves free on the disk.
const SPARE_DISK_BYTES: u64 = 200_000_000;

/// The library. No other pull writes into it while this exists.
pub(crate) struct TripLibrary {
    dir: PathBuf,
    folders: Vec<LibraryFolder>,
    _lock: File,
}

/// A trip's folder in the library.
struct LibraryFolder {
    path: PathBuf,
    /// The names of the trip that it may hold: by its trip.json, and by its own name.
    names: BTreeSet<String>,
    evidence: TripEvidence,
}

/// Where a trip of a source belongs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct LibraryPlace {
    /// Its folder in the library.
    pub(crate) path: PathBuf,
    /// Whether the folder is there already.
    pub(crate) is_known: bool,
    /// The hidden folder into which a new trip is copied.
    pub(crate) staging: PathBuf,
}

impl LibraryPlace {
    /// The trip's name in the library.
    pub(crate) fn name(&self) -> String {
        file_name(&self.path)
    }
}

impl TripLibrary {
    /// Opens the library; makes it where there is none.
    pub(crate) fn open(dir: &Path) -> Result<Self, PullError> {
        make_private_folder(dir).map_err(|source| PullError::NoLibrary {
            path: dir.to_owned(),
            source,
        })?;
        let mut library = Self {
            dir: dir.to_owned(),
            folders: Vec::new(),
            _lock: lock(dir)?,
        };
        for entry in fs::read_dir(dir).map_err(PullError::library("list", dir))? {
            let path = entry.map_err(PullError::library("list", dir))?.path();
            if !file_name(&path).starts_with('.') && path.is_dir() {
                library.add(path);
            }
        }
        library
            .folders
            .sort_by(|one, other| one.path.cmp(&other.path));
        Ok(library)
    }

    fn add(&mut self, path: PathBuf) {
        let evidence = read_evidence(&path);
        let own = file_name(&path);
        let mut names = BTreeSet::from_iter(evidence.name());
        names.insert(name_on_board(&own).to_owned());
        names.insert(own);
        self.folders.push(LibraryFolder {
            path,
            names,
            evidence,
        });
    }

    /// Takes a trip that was just copied into account for those that follow.
    pub(crate) fn add_arrived(&mut self, place: &LibraryPlace) {
        if !place.is_known && place.path.is_dir() {
            self.add(place.path.clone());
        }
    }

    pub(crate) fn dir(&self) -> &Path {
        &self.dir
    }

    /// Where a trip belongs: the folder that holds the same trip, whatever it is called, or
    /// a new one. A new folder has the trip's name; where another trip has that name, the
    /// power-up follows it.
    pub(crate) fn place(
        &self,
        source: &mut dyn TripSource,
        trip: &SourceTrip,
    ) -> Result<LibraryPlace, PullError> {
        let mut candidates: Vec<&LibraryFolder> = self
            .folders
            .iter()
            .filter(|known| known.names.contains(&trip.name) || known.names.contains(&trip.folder))
            .collect();
        // The folder with the name itself is usually the right one.
        candidates.sort_by_key(|known| file_name(&known.path) != trip.name);
        for known in &candidates {
            if is_same_trip(source, trip, &known.path, &known.evidence)? {
                return Ok(self.place_at(known.path.clone(), true, trip));
            }
        }
        let path = if candidates.is_empty() {
            self.dir.join(&trip.name)
        } else {
            self.unused_path(trip)
        };
        let place = self.place_at(path, false, trip);
        self.adopt_old_staging(source, trip, &place)?;
        Ok(place)
    }

    fn place_at(&self, path: PathBuf, is_known: bool, trip: &SourceTrip) -> LibraryPlace {
        // The key keeps the unfinished copies of two trips with one name apart.
        let staging = format!(".{}.{}.part", trip.name, trip.evidence.key());
        LibraryPlace {
            path,
            is_known,
            staging: self.dir.join(staging),
        }
    }

    /// An unused name beside those of other trips with the same name.
    fn unused_path(&self, trip: &SourceTrip) -> PathBuf {
        let key = trip.evidence.key();
        let boot = trip.evidence.boot().unwrap_or(&key);
        let first = [boot, &key].map(|suffix| format!("{}-{suffix}", trip.name));
        let more = (2_u32..).map(|number| format!("{}-{key}-{number}", trip.name));
        let mut names = first.into_iter().chain(more);
        let is_free = |name: &String| self.dir.join(name).symlink_metadata().is_err();
        // There is always one more.
        let name = names.find(is_free).unwrap_or_default();
        self.dir.join(name)
    }

    /// Continues what a pull of an older version left unfinished, without a key in its
    /// name.
    fn adopt_old_staging(
        &self,
        source: &mut dyn TripSource,
        trip: &SourceTrip,
        place: &LibraryPlace,
    ) -> Result<(), PullError> {
        let old = self.dir.join(format!(".{}.part", trip.name));
        let is_there = old.symlink_metadata().is_ok_and(|data| data.is_dir());
        if is_there
            && !place.staging.exists()
            && is_same_trip(source, trip, &old, &read_evidence(&old))?
        {
            fs::rename(&old, &place.staging)
                .map_err(PullError::library("rename", &place.staging))?;
        }
        Ok(())
    }

    /// Refuses a pull that would fill the disk.
    pub(crate) fn check_free_space(
        &self,
        trips: &[(SourceTrip, LibraryPlace)],
    ) -> Result<(), PullError> {
        let missing = trips
            .iter()
            .filter(|(trip, place)| !has_all_files(trip, place));
        let files = missing.flat_map(|(trip, _)| &trip.files);
        let needed = files.fold(0, |sum: u64, file| sum.saturating_add(file.bytes));
        let free = fs4::available_space(&self.dir)
            .map_err(PullError::library("find the free space of", &self.dir))?;
        if needed > 0 && needed.saturating_add(SPARE_DISK_BYTES) > free {
            return Err(PullError::NoSpace {
                path: self.dir.clone(),
                free,
                needed,
                spare: SPARE_DISK_BYTES,
            });
        }
        Ok(())
    }
}

/// Whether a folder of the library holds the trip of the source.
fn is_same_trip(
    source: &mut dyn TripSource,
    trip: &SourceTrip,
    folder: &Path,
    evidence: &TripEvidence,
) -> Result<bool, PullError> {
    match trip.evidence.compare(evidence) {
        TripLikeness::Same => Ok(true),
        TripLikeness::Other => Ok(false),
        TripLikeness::Unknown => is_same_sound(source, trip, folder),
    }
}

/// Whether there is nothing to fetch, judging by the lengths of the files.
pub(crate) fn has_all_files(trip: &SourceTrip, place: &LibraryPlace) -> bool {
    let manifest = RetentionManifest::read(&place.path);
    trip.files.iter().all(|file| {
        let copy = fs::symlink_metadata(place.path.join(&file.name));
        was_released(manifest.as_ref(), file) || copy.is_ok_and(|copy| copy.len() == file.bytes)
    })
}

/// Whether this file was copied before, and packed or removed on purpose since.
pub(crate) fn was_released(manifest: Option<&RetentionManifest>, file: &SourceFile) -> bool {
    let mut files = manifest.into_iter().flat_map(|manifest| &manifest.files);
    files.any(|old| old.path == file.name && old.bytes == file.bytes)
}

/// Whether another file with this name was copied before, and packed or removed on purpose
/// since.
pub(crate) fn other_was_released(manifest: Option<&RetentionManifest>, file: &SourceFile) -> bool {
    let mut files = manifest.into_iter().flat_map(|manifest| &manifest.files);
    files.any(|old| old.path == file.name && old.bytes != file.bytes)
}

/// Locks the library: two pulls at once would write the same files.
fn lock(library: &Path) -> Result<File, PullError> {
    let path = library.join(".lock");
    let file = open_to_append(&path).map_err(PullError::library("write", &path))?;
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => Err(PullError::LibraryLocked(library.to_owned())),
        Err(TryLockError::Error(error)) => Err(PullError::library("lock", &path)(error)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pull_that_would_fill_the_disk_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        let library = TripLibrary::open(&folder.path().join("trips")).unwrap();
        let trip = |bytes| {
            let name = "trip-000001-3fa2c1";
            let mut trip = SourceTrip::new(name.into(), name, TripEvidence::default());
            trip.files.push(SourceFile {
                path: "journal.jsonl".into(),
                name: "journal.jsonl".into(),
                bytes,
                modified: None,
            });
            let place = library.place_at(library.dir.join(name), false, &trip);
            [(trip, place)]
        };
        library.check_free_space(&trip(0)).unwrap();
        let full = library.check_free_space(&trip(u64::MAX)).unwrap_err();
        assert!(matches!(
            full,
            PullError::NoSpace {
                needed: u64::MAX,
                ..
            }
        ));
    }
}
