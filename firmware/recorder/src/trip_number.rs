//! Chooses the number of the next trip: one more than the largest that the board knows of.
//!
//! It knows the trips on the card, those being removed, the counter on the card, and a
//! number that the caller kept elsewhere, so that a fresh card repeats no number. Without a
//! counter, the receipts of removed trips show how far the numbers had come; with one they
//! are ignored, because the pull account can write any. None of this can keep a trip from
//! beginning: what cannot be read, or cannot be true, is reported and ignored. Creating the
//! folder is what claims a number, so that two simultaneous starts get different ones.

use std::io;
use std::path::{Path, PathBuf};

use crate::card_layout::{MAX_CARD_NAMES, RECEIPTS_FOLDER, REMOVAL_PREFIX, trip_name, trip_number};
use crate::error::RecorderError;
use crate::storage::{CardStorage, checked, read_text};

const COUNTER_FILE: &str = "trip-counter";
/// A counter file holds a number and a line end.
pub(crate) const MAX_COUNTER_BYTES: u64 = 64;
/// A counter above this is not genuine: it would take a start every second for thirty
/// years.
const MAX_COUNTED_NUMBER: u32 = 1_000_000_000;
/// A folder or receipt whose number is this far above every counter is not genuine: it
/// would take 27 starts a day for ten years.
const MAX_NUMBER_LEAD: u32 = 100_000;

/// The folder of a new trip.
#[derive(Debug)]
pub(crate) struct NewTripFolder {
    /// The trip's number.
    pub(crate) number: u32,
    /// Its folder, empty.
    pub(crate) dir: PathBuf,
    /// What a person should check.
    pub(crate) doubts: Vec<String>,
}

/// Creates the folder of the next trip. `elsewhere` is the last number that was kept
/// outside the card. The caller syncs the card.
///
/// # Errors
/// [`RecorderError::Io`] when no folder can be created on the card.
pub(crate) fn make_trip_folder(
    storage: &mut dyn CardStorage,
    card: &Path,
    board: &str,
    elsewhere: Option<u32>,
) -> Result<NewTripFolder, RecorderError> {
    let KnownNumbers {
        highest,
        counters,
        mut doubts,
    } = KnownNumbers::gather(storage, card, elsewhere);
    // Numbers below the highest come last, in case all above it are taken.
    for number in (highest + 1..=u32::MAX).chain(1..=highest) {
        let dir = card.join(trip_name(number, board));
        match storage.make_dir(&dir) {
            Ok(()) => {
                write_counter(storage, card, number, &counters, &mut doubts);
                return Ok(NewTripFolder {
                    number,
                    dir,
                    doubts,
                });
            }
            // Another start was quicker, or something else has that name.
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
            Err(source) => return Err(RecorderError::io("create the folder", &dir, source)),
        }
    }
    let source = io::ErrorKind::AlreadyExists.into();
    Err(RecorderError::io("find a free number in", card, source))
}

/// The number in the text of a counter file, or why it is not one.
pub(crate) fn parse_counter(text: &str) -> Result<u32, String> {
    match text.trim().parse() {
        Ok(number) if number <= MAX_COUNTED_NUMBER => Ok(number),
        Ok(number) => Err(format!("it says {number}, which no board can have reached")),
        Err(_) => Err("it holds no number".to_owned()),
    }
}

/// What is known of the numbers used so far.
#[derive(Debug, Default)]
struct KnownNumbers {
    highest: u32,
    /// Names of the counter files on the card, finished or not.
    counters: Vec<String>,
    doubts: Vec<String>,
}

impl KnownNumbers {
    fn gather(storage: &mut dyn CardStorage, card: &Path, elsewhere: Option<u32>) -> Self {
        let mut counter = elsewhere.filter(|&number| number <= MAX_COUNTED_NUMBER);
        let mut known = Self::default();
        let names = known.names(storage, card);
        if names.iter().any(|name| name == COUNTER_FILE) {
            let path = card.join(COUNTER_FILE);
            match read_counter(storage, &path) {
                Ok(number) => counter = counter.max(Some(number)),
                Err(why) => known.doubts.push(format!(
                    "{} is ignored: {why}. It is rebuilt from what else is known",
                    path.display()
                )),
            }
        }
        let receipts = match counter {
            None if names.iter().any(|name| name == RECEIPTS_FOLDER) => {
                known.names(storage, &card.join(RECEIPTS_FOLDER))
            }
            _ => Vec::new(),
        };
        known.highest = counter.unwrap_or(0);
        let ceiling = known.highest.saturating_add(MAX_NUMBER_LEAD);
        let mut implausible = Vec::new();
        for name in names.iter().chain(&receipts) {
            let bare = name.strip_prefix(REMOVAL_PREFIX).or(name.strip_prefix('.'));
            match trip_number(bare.unwrap_or(name)) {
                Some(number) if number <= ceiling => known.highest = known.highest.max(number),
                Some(_) => implausible.push(name.as_str()),
                None => {}
            }
        }
        if let [first, others @ ..] = implausible.as_slice() {
            known.doubts.push(format!(
                "the number of {first} (and of {} more) is ignored: it is more than \
                 {MAX_NUMBER_LEAD} above every counter. Rename it, or take it off the card",
                others.len()
            ));
        }
        known.counters = names;
        known.counters.retain(|name| name.starts_with(COUNTER_FILE));
        known
    }

    fn names(&mut self, storage: &mut dyn CardStorage, dir: &Path) -> Vec<String> {
        checked::names(storage, dir, MAX_CARD_NAMES).unwrap_or_else(|error| {
            self.doubts
                .push(format!("{error}. The numbers in it are unknown"));
            Vec::new()
        })
    }
}

fn read_counter(storage: &mut dyn CardStorage, path: &Path) -> Result<u32, String> {
    let text = read_text(storage, path, MAX_COUNTER_BYTES).map_err(|error| error.to_string())?;
    parse_counter(&text)
}

/// Writes the counter, so that the number is not used again after its folder was removed.
/// Each of several simultaneous starts writes a file of its own and renames it, and the
/// highest number stays. `others` are the counter files found before. A card that does not
/// accept it is reported.
fn write_counter(
    storage: &mut dyn CardStorage,
    card: &Path,
    number: u32,
    others: &[String],
    doubts: &mut Vec<String>,
) {
    // Removes what a power cut left. If the file belongs to another start, that one writes
    // it again.
    for part in others.iter().filter(|name| name.ends_with(".part")) {
        if let Err(error) = checked::remove(storage, &card.join(part)) {
            doubts.push(error.to_string());
        }
    }
    let path = card.join(COUNTER_FILE);
    let part = card.join(format!("{COUNTER_FILE}-{number:06}.part"));
    let write = |storage: &mut dyn CardStorage| {
        if read_counter(storage, &path).is_ok_and(|counted| counted >= number) {
            return Ok(());
        }
        checked::replace(storage, &path, &part, format!("{number}\n").as_bytes())
    };
    // Another start may have removed this one's file as a leftover, but only once.
    if let Err(error) = write(storage).or_else(|_| write(storage)) {
        doubts.push(format!(
            "{error}. The trip is recorded; until this is fixed, numbers of removed trips may \
             be used again"
        ));
    }
}

#[cfg(test)]
mod tests;
