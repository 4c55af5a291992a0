//! Where the library and the logbook are, and which trip a word means.

mod private;

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Error, Result, anyhow, bail};
use jumpseat_logbook::{BackupReason, Logbook, LogbookError, backup_folder, backups};
use jumpseat_trip::Trip;

use crate::outcome::error_message;
use crate::print;
use crate::station::StationFile;
use crate::system;

/// How the names of trips begin.
const TRIP_PREFIX: &str = "trip-";

/// The folder of a person's library and logbook.
#[derive(Debug, Clone)]
pub(crate) struct HomeFolder {
    dir: PathBuf,
    /// It was given on the command line, and must be given again.
    given: bool,
}

impl HomeFolder {
    /// The folder given, or the system's place for an application's data. Where it is
    /// there already, it is made its owner's alone.
    pub(crate) fn new(given: Option<PathBuf>) -> Result<Self> {
        let home = match given {
            Some(dir) => Self { dir, given: true },
            None => {
                let folders = directories::ProjectDirs::from("", "", "jumpseat")
                    .ok_or_else(|| anyhow!("no home folder is known; say where with --home DIR"))?;
                Self {
                    dir: folders.data_local_dir().to_owned(),
                    given: false,
                }
            }
        };
        private::tighten(&home);
        Ok(home)
    }

    /// The folder itself.
    pub(crate) fn dir(&self) -> &Path {
        &self.dir
    }

    /// How a command for this home begins, for a person to copy.
    pub(crate) fn command(&self) -> String {
        let program = system::program();
        if self.given {
            format!("{program} --home {}", system::quoted(&self.dir))
        } else {
            program
        }
    }

    /// The library of trips.
    pub(crate) fn trips(&self) -> PathBuf {
        self.dir.join("trips")
    }

    /// What was heard in overs, kept for the next draft.
    pub(crate) fn heard(&self) -> PathBuf {
        self.dir.join("heard")
    }

    /// What drafting heard in a trip, for the review page.
    pub(crate) fn heard_drive_file(&self, trip: &str) -> PathBuf {
        // A trip's name comes from its card and may be anything.
        let plain = |c: char| if c.is_ascii_alphanumeric() { c } else { '-' };
        let name: String = trip.chars().map(plain).collect();
        self.heard().join(format!("{name}.json"))
    }

    /// The logbook's file.
    pub(crate) fn logbook_file(&self) -> PathBuf {
        self.dir.join("logbook.sqlite")
    }

    /// Opens the logbook; makes an empty one where there never was one.
    pub(crate) fn logbook(&self) -> Result<Logbook> {
        Ok(Logbook::open_with_warnings(&self.logbook_file(), warn)?)
    }

    /// Opens the logbook to change it: where there never was one, none is made.
    pub(crate) fn logbook_if_any(&self) -> Result<Option<Logbook>> {
        self.open_if_any(Logbook::open_with_warnings)
    }

    /// Opens the logbook to look at it, also where nothing can be written: where there
    /// never was one, none is made.
    pub(crate) fn logbook_read_only(&self) -> Result<Option<Logbook>> {
        self.open_if_any(Logbook::open_read_only)
    }

    fn open_if_any(
        &self,
        open: impl FnOnce(&Path, jumpseat_logbook::WarningHandler) -> Result<Logbook, LogbookError>,
    ) -> Result<Option<Logbook>> {
        let path = self.logbook_file();
        Ok(if Logbook::is_there(&path)? {
            Some(open(&path, warn)?)
        } else {
            None
        })
    }

    /// An error, with the way to a backup where the logbook itself is lost or damaged.
    pub(crate) fn with_advice(&self, error: Error) -> Error {
        let logbook = self.logbook_file();
        let mut causes = error
            .chain()
            .filter_map(|cause| cause.downcast_ref::<LogbookError>());
        if !causes.any(|cause| cause.is_damage_of(&logbook)) {
            return error;
        }
        let mut found = backups(&logbook).unwrap_or_default();
        found.retain(|backup| backup.why != BackupReason::Replaced);
        let command = self.command();
        let advice = match found.first() {
            Some(newest) => format!(
                "`{command} log --restore {}` puts the backup of {} UTC in its place, and keeps what \
                 is there aside; `{command} log --backups` lists all",
                file_name(&newest.path),
                newest.at.format("%Y-%m-%d %H:%M")
            ),
            None => format!(
                "There is no backup in {}; an export or a copy of the file may be elsewhere",
                backup_folder(&logbook).display()
            ),
        };
        anyhow!("{}. {advice}", error_message(&error))
    }

    /// What the person wrote down of the own station.
    pub(crate) fn station(&self) -> Result<StationFile> {
        StationFile::read(&self.station_file())
    }

    /// Where that is written down.
    pub(crate) fn station_file(&self) -> PathBuf {
        self.dir.join("station.toml")
    }

    /// Folders of the trips in the library, by name.
    pub(crate) fn trip_folders(&self) -> Result<Vec<PathBuf>> {
        let trips = self.trips();
        let listing = match fs::read_dir(&trips) {
            Ok(listing) => listing,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
            Err(error) => return Err(error).with_context(|| cannot_list(&trips)),
        };
        let mut folders = Vec::new();
        for entry in listing {
            let entry = entry.with_context(|| cannot_list(&trips))?;
            let visible = !entry.file_name().to_string_lossy().starts_with('.');
            if visible && may_be_folder(&entry.path()) {
                folders.push(entry.path());
            }
        }
        folders.sort();
        Ok(folders)
    }

    /// Opens the trip that a person means: a folder, a trip's name in the library or
    /// how it begins, or its number alone.
    pub(crate) fn open_trip(&self, word: &str) -> Result<Trip> {
        Ok(Trip::open(&self.trip_folder(word)?)?)
    }

    /// As [`HomeFolder::open_trip`], for what the logbook will say of it: refuses a trip that is
    /// not the library's of that name, whose entries would become its own.
    pub(crate) fn open_trip_to_log(&self, word: &str) -> Result<Trip> {
        let trip = self.open_trip(word)?;
        let named = self.trips().join(trip.id());
        let same_folder = match (system::full_path(&named), system::full_path(trip.dir())) {
            (Ok(one), Ok(other)) => one == other,
            _ => true,
        };
        if !same_folder
            && let Ok(other) = Trip::open(&named)
            && other.header().boot != trip.header().boot
        {
            bail!(
                "{} is another trip than {} of the library, which has the same name. Pull it: \
                 then it gets a name of its own. If it is in the library already, call its \
                 folder {}-{} again",
                trip.dir().display(),
                trip.id(),
                trip.id(),
                trip.header().boot
            );
        }
        Ok(trip)
    }

    /// The name by which the logbook knows the trip that a person means; the word
    /// itself for a trip whose folder is not here any more.
    pub(crate) fn trip_name(&self, word: &str) -> Result<String> {
        // A whole name is no beginning of that of another trip.
        let gone = is_whole(word) && !self.trips().join(word).is_dir();
        if gone || (word.starts_with(TRIP_PREFIX) && self.trips_meant(word)?.is_empty()) {
            return Ok(word.to_owned());
        }
        Ok(self.open_trip(word)?.id().to_owned())
    }

    /// Folders that a word may mean.
    fn trips_meant(&self, word: &str) -> Result<Vec<PathBuf>> {
        let in_library = self.trips().join(word);
        if !word.is_empty() && !word.contains(['/', '\\']) && in_library.is_dir() {
            return Ok(vec![in_library]);
        }
        if Path::new(word).exists() {
            return Ok(vec![PathBuf::from(word)]);
        }
        let mut found = self.trip_folders()?;
        let begins = match word.parse::<u64>() {
            Ok(number) => format!("{TRIP_PREFIX}{number:06}-"),
            Err(_) => word.to_owned(),
        };
        let meant = |name: &str| begins.len() > TRIP_PREFIX.len() && name.starts_with(&begins);
        if found.iter().any(|folder| meant(&file_name(folder))) {
            found.retain(|folder| meant(&file_name(folder)));
        } else {
            // A person renamed it, or a damaged trip.json named it when it was pulled.
            found.retain(|folder| Trip::id_in(folder).is_some_and(|name| meant(&name)));
        }
        Ok(found)
    }

    fn trip_folder(&self, word: &str) -> Result<PathBuf> {
        let newest = self.trip_folders()?.pop().map(|folder| file_name(&folder));
        match (self.trips_meant(word)?.as_slice(), newest) {
            ([one], _) => Ok(one.clone()),
            ([], None) => bail!(
                "there is no trip or folder {word}, and no trip at all in {} yet. `{} pull \
                 FOLDER` copies trips from a card",
                self.trips().display(),
                self.command()
            ),
            ([], Some(newest)) => bail!(
                "there is no trip or folder {word}. The last trip in {} is {newest}; `{} trips` \
                 lists all",
                self.trips().display(),
                self.command()
            ),
            (several, _) => bail!(
                "several trips are {word}: {}. Give the whole name",
                several
                    .iter()
                    .map(|folder| file_name(folder))
                    .collect::<Vec<_>>()
                    .join(", ")
            ),
        }
    }
}

/// Tells what went wrong beside the work itself.
fn warn(error: &LogbookError) {
    print::warning(&error.to_string());
}

/// Whether there is a file or folder. A disk that gives no answer is not taken for one
/// that says no.
pub(crate) fn is_there(path: &Path) -> Result<bool> {
    path.try_exists().with_context(|| {
        let path = path.display();
        format!("cannot look for {path}; check the disk and that you may read there")
    })
}

/// Whether a word is the whole name that a board gave a trip.
fn is_whole(word: &str) -> bool {
    let parts: Vec<&str> = word.split('-').collect();
    matches!(parts[..], ["trip", number, board]
        if number.parse::<u32>().is_ok() && !board.is_empty())
}

/// Whether it is a folder. One that cannot be looked at is taken for one, so that who opens
/// it says what is wrong, and nobody passes it over.
fn may_be_folder(path: &Path) -> bool {
    match fs::metadata(path) {
        Ok(data) => data.is_dir(),
        Err(error) => error.kind() != io::ErrorKind::NotFound,
    }
}

/// A folder's own name.
pub(crate) fn file_name(folder: &Path) -> String {
    folder
        .file_name()
        .map(|name| name.to_string_lossy().into_owned())
        .unwrap_or_default()
}

fn cannot_list(folder: &Path) -> String {
    format!(
        "cannot list {}; check that you may read it",
        folder.display()
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_whole_name_is_no_beginning_of_that_of_another_trip() {
        let folder = tempfile::tempdir().unwrap();
        let home = HomeFolder::new(Some(folder.path().to_owned())).unwrap();
        let second = home.trips().join("trip-000001-3fa2c1-9f2c41d0");
        fs::create_dir_all(&second).unwrap();
        // The first is gone; the logbook still knows it.
        let first = "trip-000001-3fa2c1";
        assert_eq!(home.trip_name(first).unwrap(), first);
        for whole in [first, "trip-1-x"] {
            assert!(is_whole(whole));
        }
        for part in ["trip-000001", "trip-000001-", "1", "Tuesday-1-x"] {
            assert!(!is_whole(part), "{part}");
        }
        for word in ["1", "trip-000001", "trip-000001-3fa2c1-9f2c"] {
            assert_eq!(
                home.trips_meant(word).unwrap(),
                std::slice::from_ref(&second)
            );
        }
    }
}
