//! Which trip of the library a person means.

use std::path::{Path, PathBuf};

use anyhow::{Result, bail};
use jumpseat_files::{file_name, full_path};
use jumpseat_trip::Trip;

use super::HomeFolder;

/// How the names of trips begin.
const TRIP_PREFIX: &str = "trip-";

impl HomeFolder {
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
                "{word} matches several trips: {}. Give the full name",
                several
                    .iter()
                    .map(|folder| file_name(folder))
                    .collect::<Vec<_>>()
                    .join(", ")
            ),
        }
    }
}

/// Whether a word is the full name that a board gave a trip.
fn is_full_name(word: &str) -> bool {
    let parts: Vec<&str> = word.split('-').collect();
    matches!(parts[..], ["trip", number, board]
        if number.parse::<u32>().is_ok() && !board.is_empty())
}

#[cfg(test)]
mod tests {
    use std::fs;

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
