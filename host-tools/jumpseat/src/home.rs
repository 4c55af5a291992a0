//! Where the library and the logbook are, and which trip a word means.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result, anyhow, bail};
use jumpseat_log::Logbook;
use jumpseat_trip::Trip;

use crate::station::Station;
use crate::system;

/// How the names of trips begin.
const TRIP: &str = "trip-";

/// The folder of a person's library and logbook.
#[derive(Debug, Clone)]
pub(crate) struct Home {
    dir: PathBuf,
    /// It was given on the command line, and must be given again.
    given: bool,
}

impl Home {
    /// The folder given, or the system's place for an application's data.
    pub(crate) fn new(given: Option<PathBuf>) -> Result<Self> {
        if let Some(given) = given {
            return Ok(Self {
                dir: given,
                given: true,
            });
        }
        let folders = directories::ProjectDirs::from("", "", "jumpseat")
            .ok_or_else(|| anyhow!("no home folder is known; say where with --home DIR"))?;
        Ok(Self {
            dir: folders.data_local_dir().to_owned(),
            given: false,
        })
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
    pub(crate) fn drive(&self, trip: &str) -> PathBuf {
        // A trip's name comes from its card and may be anything.
        let plain = |c: char| if c.is_ascii_alphanumeric() { c } else { '-' };
        let name: String = trip.chars().map(plain).collect();
        self.heard().join(format!("{name}.json"))
    }

    /// Opens the logbook; makes an empty one where there is none.
    pub(crate) fn logbook(&self) -> Result<Logbook> {
        Ok(Logbook::open(&self.dir.join("logbook.sqlite"))?)
    }

    /// Opens the logbook for looking only: where there is none, none is made.
    pub(crate) fn logbook_if_any(&self) -> Result<Option<Logbook>> {
        let path = self.dir.join("logbook.sqlite");
        is_there(&path)?
            .then(|| Logbook::open(&path))
            .transpose()
            .map_err(Into::into)
    }

    /// What the person wrote down of the own station.
    pub(crate) fn station(&self) -> Result<Station> {
        Station::read(&self.station_file())
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

    /// The name by which the logbook knows the trip that a person means; the word
    /// itself for a trip whose folder is not here any more.
    pub(crate) fn trip_name(&self, word: &str) -> Result<String> {
        if word.starts_with(TRIP) && self.trips_meant(word)?.is_empty() {
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
            Ok(number) => format!("{TRIP}{number:06}-"),
            Err(_) => word.to_owned(),
        };
        found.retain(|folder| begins.len() > TRIP.len() && name_of(folder).starts_with(&begins));
        Ok(found)
    }

    fn trip_folder(&self, word: &str) -> Result<PathBuf> {
        let newest = self.trip_folders()?.pop().map(|folder| name_of(&folder));
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
                    .map(|folder| name_of(folder))
                    .collect::<Vec<_>>()
                    .join(", ")
            ),
        }
    }
}

/// Whether there is a file or folder. A disk that gives no answer is not taken for one
/// that says no.
pub(crate) fn is_there(path: &Path) -> Result<bool> {
    path.try_exists().with_context(|| {
        let path = path.display();
        format!("cannot look for {path}; check the disk and that you may read there")
    })
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
pub(crate) fn name_of(folder: &Path) -> String {
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
