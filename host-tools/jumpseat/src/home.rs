//! The home folder: where the library and the logbook are, and which trip a person means.

mod private;

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Error, Result, anyhow, bail};
use jumpseat_files::{file_name, full_path};
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
    /// It was given on the command line, so commands for it need --home.
    given: bool,
}

impl HomeFolder {
    /// The given folder, or the system's place for application data. If it exists, it is made
    /// private.
    pub(crate) fn new(given: Option<PathBuf>) -> Result<Self> {
        let home = match given {
            Some(dir) => Self { dir, given: true },
            None => {
                let folders =
                    directories::ProjectDirs::from("", "", "jumpseat").ok_or_else(|| {
                        anyhow!("your home folder is not known; give a folder with --home DIR")
                    })?;
                Self {
                    dir: folders.data_local_dir().to_owned(),
                    given: false,
                }
            }
        };
        private::tighten(&private::HomePaths {
            dir: &home.dir,
            given: home.given,
            logbook: home.logbook_file(),
            folders: vec![home.trips(), home.heard()],
        });
        Ok(home)
    }

    /// The folder itself.
    pub(crate) fn dir(&self) -> &Path {
        &self.dir
    }

    /// The beginning of a command for this home, for a person to copy.
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

    /// The folder of what was heard in overs, for the next draft.
    pub(crate) fn heard(&self) -> PathBuf {
        self.dir.join("heard")
    }

    /// The file with what drafting heard in a trip, for the review page.
    pub(crate) fn heard_drive_file(&self, trip: &str) -> PathBuf {
        // A trip's name comes from its card and can be anything.
        let plain = |c: char| if c.is_ascii_alphanumeric() { c } else { '-' };
        let name: String = trip.chars().map(plain).collect();
        self.heard().join(format!("{name}.json"))
    }

    /// The logbook's file.
    pub(crate) fn logbook_file(&self) -> PathBuf {
        self.dir.join("logbook.sqlite")
    }

    /// Opens the logbook; makes an empty one if there has never been one.
    pub(crate) fn logbook(&self) -> Result<Logbook> {
        Ok(Logbook::open_with_warnings(&self.logbook_file(), warn)?)
    }

    /// Opens the logbook to change it; `None` if there has never been one.
    pub(crate) fn logbook_if_any(&self) -> Result<Option<Logbook>> {
        self.open_if_any(Logbook::open_with_warnings)
    }

    /// Opens the logbook to read it, also where nothing can be written; `None` if there has
    /// never been one.
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

    /// Adds to an error how to restore a backup, if the logbook is lost or damaged.
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
                "`{command} log --restore {}` restores the backup of {} UTC and keeps the present \
                 file among the backups; `{command} log --backups` lists all",
                file_name(&newest.path),
                newest.at.format("%Y-%m-%d %H:%M")
            ),
            None => format!(
                "There is no backup in {}; look for an export or a copy of the file elsewhere",
                backup_folder(&logbook).display()
            ),
        };
        anyhow!("{}. {advice}", error_message(&error))
    }

    /// The settings of the station file.
    pub(crate) fn station(&self) -> Result<StationFile> {
        StationFile::read(&self.station_file())
    }

    /// The path of the station file.
    pub(crate) fn station_file(&self) -> PathBuf {
        self.dir.join("station.toml")
    }

    /// The folders of the trips in the library, in the order of their names.
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

    /// Opens the trip that a person means by a folder, by a trip's name in the library or the
    /// beginning of it, or by its number.
    pub(crate) fn open_trip(&self, word: &str) -> Result<Trip> {
        Ok(Trip::open(&self.trip_folder(word)?)?)
    }

    /// As [`HomeFolder::open_trip`], for a trip whose entries go into the logbook. Refuses a
    /// trip that is not the one with its name in the library, because the logbook would mix
    /// the entries of both.
    pub(crate) fn open_trip_to_log(&self, word: &str) -> Result<Trip> {
        let trip = self.open_trip(word)?;
        let named = self.trips().join(trip.id());
        let same_folder = match (full_path(&named), full_path(trip.dir())) {
            (Ok(one), Ok(other)) => one == other,
            _ => true,
        };
        if !same_folder
            && let Ok(other) = Trip::open(&named)
            && other.header().boot != trip.header().boot
        {
            bail!(
                "{} is not the trip {} of the library, which has the same name. Pull it, and it \
                 gets its own name. If it is in the library already, rename its folder to {}-{}",
                trip.dir().display(),
                trip.id(),
                trip.id(),
                trip.header().boot
            );
        }
        Ok(trip)
    }

    /// The name under which the logbook knows the trip that a person means; the word itself
    /// for a trip whose folder is gone.
    pub(crate) fn trip_name(&self, word: &str) -> Result<String> {
        // A full name is not taken for the beginning of another name.
        let gone = is_full_name(word) && !self.trips().join(word).is_dir();
        if gone || (word.starts_with(TRIP_PREFIX) && self.trips_meant(word)?.is_empty()) {
            return Ok(word.to_owned());
        }
        Ok(self.open_trip(word)?.id().to_owned())
    }

    /// The folders that a word may mean.
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
            // A person renamed the folder, or it was named by a damaged trip.json when it was pulled.
            found.retain(|folder| Trip::id_in(folder).is_some_and(|name| meant(&name)));
        }
        Ok(found)
    }

    fn trip_folder(&self, word: &str) -> Result<PathBuf> {
        let newest = self.trip_folders()?.pop().map(|folder| file_name(&folder));
        match (self.trips_meant(word)?.as_slice(), newest) {
            ([one], _) => Ok(one.clone()),
            ([], None) => bail!(
                "there is no trip or folder {word}, and there are no trips in {} yet. `{} pull \
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
                "{word} can mean several trips: {}. Give the full name",
                several
                    .iter()
                    .map(|folder| file_name(folder))
                    .collect::<Vec<_>>()
                    .join(", ")
            ),
        }
    }
}

/// Prints a warning.
fn warn(error: &LogbookError) {
    print::warning(&error.to_string());
}

/// Whether there is a file or folder. An error of the disk is not taken for a no.
pub(crate) fn is_there(path: &Path) -> Result<bool> {
    path.try_exists().with_context(|| {
        let path = path.display();
        format!("cannot look for {path}; check the disk and that you may read there")
    })
}

/// Whether a word is the full name that a board gave a trip.
fn is_full_name(word: &str) -> bool {
    let parts: Vec<&str> = word.split('-').collect();
    matches!(parts[..], ["trip", number, board]
        if number.parse::<u32>().is_ok() && !board.is_empty())
}

/// Whether it is a folder. If it cannot be looked at it counts as one, so that opening it
/// reports what is wrong.
fn may_be_folder(path: &Path) -> bool {
    match fs::metadata(path) {
        Ok(data) => data.is_dir(),
        Err(error) => error.kind() != io::ErrorKind::NotFound,
    }
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
    fn a_full_name_is_not_the_beginning_of_another() {
        let folder = tempfile::tempdir().unwrap();
        let home = HomeFolder::new(Some(folder.path().to_owned())).unwrap();
        let second = home.trips().join("trip-000001-3fa2c1-9f2c41d0");
        fs::create_dir_all(&second).unwrap();
        // The first is gone; the logbook still knows it.
        let first = "trip-000001-3fa2c1";
        assert_eq!(home.trip_name(first).unwrap(), first);
        for whole in [first, "trip-1-x"] {
            assert!(is_full_name(whole));
        }
        for part in ["trip-000001", "trip-000001-", "1", "Tuesday-1-x"] {
            assert!(!is_full_name(part), "{part}");
        }
        for word in ["1", "trip-000001", "trip-000001-3fa2c1-9f2c"] {
            assert_eq!(
                home.trips_meant(word).unwrap(),
                std::slice::from_ref(&second)
            );
        }
    }
}
