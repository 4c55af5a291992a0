//! The home folder: where the library, the logbook and the station file are.

mod private;
mod trip_meant;

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Error, Result, anyhow};
use jumpseat_files::file_name;
use jumpseat_logbook::{BackupReason, Logbook, LogbookError, backup_folder, backups};

use crate::outcome::error_message;
use crate::print;
use crate::station::StationFile;
use crate::system;

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
        let folders = [home.trips(), home.heard()];
        private::tighten(&home.dir, home.given, &home.logbook_file(), &folders);
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
        self.heard().join(format!("{}.json", plain_name(trip)))
    }

    /// The file with what was said in the overs of a trip's entries, as text.
    pub(crate) fn transcript_file(&self, trip: &str) -> PathBuf {
        self.heard().join(format!("{}.said.json", plain_name(trip)))
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
}

/// A trip's name as the name of a file: it comes from the trip's card and can be anything.
fn plain_name(trip: &str) -> String {
    let plain = |c: char| if c.is_ascii_alphanumeric() { c } else { '-' };
    trip.chars().map(plain).collect()
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
