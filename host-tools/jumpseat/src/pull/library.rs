//! The folder of trips at home, for one pull at a time.

use std::collections::BTreeSet;
use std::fs;
use std::fs::File;
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result, bail};
use jumpseat_files::make_private_folder;
use jumpseat_trip::{RetentionManifest, name_on_board};

use super::evidence;
use super::find::{SourceFile, SourceTrip};
use super::likeness::{TripEvidence, TripLikeness};
use super::sound::is_same_sound;
use super::source::TripSource;
use crate::home::file_name;
use crate::system;
use crate::text::bytes;

/// What a pull leaves free on the disk.
const SPARE_DISK_BYTES: u64 = 200_000_000;

/// The library; nobody else pulls into it while this lives.
pub(super) struct TripLibrary {
    dir: PathBuf,
    folders: Vec<LibraryFolder>,
    _alone: File,
}

/// A folder of the library.
struct LibraryFolder {
    path: PathBuf,
    /// The names of the trip that it may hold: by its trip.json, and by its own name.
    names: BTreeSet<String>,
    evidence: TripEvidence,
}

/// Where a trip of a source belongs.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct LibraryPlace {
    /// Its folder in the library.
    pub(super) path: PathBuf,
    /// It is there already.
    pub(super) is_known: bool,
    /// The hidden folder in which it is put together when it is not.
    pub(super) staging: PathBuf,
}

impl LibraryPlace {
    /// The trip's name in the library.
    pub(super) fn name(&self) -> String {
        file_name(&self.path)
    }
}

impl TripLibrary {
    /// Opens it; makes it where there is none.
    pub(super) fn open(dir: &Path) -> Result<Self> {
        make_private_folder(dir).with_context(|| {
            format!(
                "cannot make the library {}; check that you may write there, or name another \
                 folder with --home",
                dir.display()
            )
        })?;
        let alone = lock(dir)?;
        let cannot_list = || format!("cannot list {}", dir.display());
        let mut library = Self {
            dir: dir.to_owned(),
            folders: Vec::new(),
            _alone: alone,
        };
        for entry in fs::read_dir(dir).with_context(cannot_list)? {
            let path = entry.with_context(cannot_list)?.path();
            if !file_name(&path).starts_with('.') && path.is_dir() {
                library.know(path);
            }
        }
        library
            .folders
            .sort_by(|one, other| one.path.cmp(&other.path));
        Ok(library)
    }

    /// Takes a folder into account.
    fn know(&mut self, path: PathBuf) {
        let evidence = evidence::here(&path);
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

    /// A trip that was brought is there for those that come after it.
    pub(super) fn has_come(&mut self, place: &LibraryPlace) {
        if !place.is_known && place.path.is_dir() {
            self.know(place.path.clone());
        }
    }

    pub(super) fn dir(&self) -> &Path {
        &self.dir
    }

    /// Where a trip belongs: the folder that holds the same trip, whatever it is
    /// called, or a new one. Its name is that of the trip, and where another trip has
    /// it, with the power-up behind it.
    pub(super) fn place(
        &self,
        source: &mut dyn TripSource,
        trip: &SourceTrip,
    ) -> Result<LibraryPlace> {
        let mut alike: Vec<&LibraryFolder> = self
            .folders
            .iter()
            .filter(|known| known.names.contains(&trip.name) || known.names.contains(&trip.folder))
            .collect();
        // The folder with the name itself is most often the one.
        alike.sort_by_key(|known| file_name(&known.path) != trip.name);
        for known in &alike {
            if is_same(source, trip, (&known.path, &known.evidence))? {
                return Ok(self.place_at(known.path.clone(), true, trip));
            }
        }
        let path = if alike.is_empty() {
            self.dir.join(&trip.name)
        } else {
            self.new_path(trip)
        };
        let place = self.place_at(path, false, trip);
        self.take_over(source, trip, &place)?;
        Ok(place)
    }

    fn place_at(&self, path: PathBuf, is_known: bool, trip: &SourceTrip) -> LibraryPlace {
        // With its key, so that what another trip of the name left is not gone on with.
        let staging = format!(".{}.{}.part", trip.name, trip.evidence.key());
        LibraryPlace {
            path,
            is_known,
            staging: self.dir.join(staging),
        }
    }

    /// A name beside those of other trips of the same name.
    fn new_path(&self, trip: &SourceTrip) -> PathBuf {
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

    /// What a pull of an older version left unfinished has no key in its name.
    fn take_over(
        &self,
        source: &mut dyn TripSource,
        trip: &SourceTrip,
        place: &LibraryPlace,
    ) -> Result<()> {
        let old = self.dir.join(format!(".{}.part", trip.name));
        let is_there = old.symlink_metadata().is_ok_and(|data| data.is_dir());
        if is_there
            && !place.staging.exists()
            && is_same(source, trip, (&old, &evidence::here(&old)))?
        {
            fs::rename(&old, &place.staging)
                .with_context(|| format!("cannot name {}; pull again", place.staging.display()))?;
        }
        Ok(())
    }

    /// Refuses what would fill the disk; `command` is how one for this home begins.
    pub(super) fn make_sure_of_room(
        &self,
        trips: &[(SourceTrip, LibraryPlace)],
        command: &str,
    ) -> Result<()> {
        let missing = trips
            .iter()
            .filter(|(trip, place)| !has_all_files(trip, place));
        let files = missing.flat_map(|(trip, _)| &trip.files);
        let needed = files.fold(0, |sum: u64, file| sum.saturating_add(file.bytes));
        let free = free(&self.dir)?;
        if needed > 0 && needed.saturating_add(SPARE_DISK_BYTES) > free {
            bail!(
                "{} has {} free, {} are to come and {} stay free. Make room (`{command} keep` shows \
                 what could go), and pull again",
                self.dir.display(),
                bytes(free),
                bytes(needed),
                bytes(SPARE_DISK_BYTES)
            );
        }
        Ok(())
    }
}

/// Whether a folder here, with what it tells, holds the trip of the source.
fn is_same(
    source: &mut dyn TripSource,
    trip: &SourceTrip,
    (folder, told): (&Path, &TripEvidence),
) -> Result<bool> {
    match trip.evidence.compare(told) {
        TripLikeness::Same => Ok(true),
        TripLikeness::Other => Ok(false),
        TripLikeness::Unknown => is_same_sound(source, trip, folder),
    }
}

/// Whether there is nothing to fetch, as far as lengths tell.
pub(super) fn has_all_files(trip: &SourceTrip, place: &LibraryPlace) -> bool {
    let kept = RetentionManifest::read(&place.path);
    trip.files.iter().all(|file| {
        let copy = fs::symlink_metadata(place.path.join(&file.name));
        was_released(kept.as_ref(), file) || copy.is_ok_and(|copy| copy.len() == file.bytes)
    })
}

/// Whether the file was here, and was packed or let go on purpose.
pub(super) fn was_released(kept: Option<&RetentionManifest>, file: &SourceFile) -> bool {
    let mut files = kept.into_iter().flat_map(|kept| &kept.files);
    files.any(|kept| kept.path == file.name && kept.bytes == file.bytes)
}

/// Whether another file of this name was here, and was packed or let go on purpose.
pub(super) fn other_was_released(kept: Option<&RetentionManifest>, file: &SourceFile) -> bool {
    let mut files = kept.into_iter().flat_map(|kept| &kept.files);
    files.any(|kept| kept.path == file.name && kept.bytes != file.bytes)
}

/// Bytes that are free on the disk of a folder.
fn free(folder: &Path) -> Result<u64> {
    fs4::available_space(folder)
        .with_context(|| format!("cannot ask the space of {}", folder.display()))
}

/// Two pulls at once would write the same files.
fn lock(library: &Path) -> Result<File> {
    let path = library.join(".lock");
    let file = system::open_to_append(&path)
        .with_context(|| format!("cannot write {}", path.display()))?;
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn where_there_is_no_room_the_way_to_make_some_is_of_this_home() {
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
        library.make_sure_of_room(&trip(0), "jumpseat").unwrap();
        let full = library.make_sure_of_room(&trip(u64::MAX), "jumpseat --home here");
        let words = full.unwrap_err().to_string();
        assert!(words.contains("`jumpseat --home here keep`"), "{words}");
    }
}
