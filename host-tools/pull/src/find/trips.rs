//! Which trips a source holds.

use super::files::list_files;
use super::heads::read_evidence;
use crate::error::PullError;
use crate::identity::{is_plain_name, is_trip_name};
use crate::source::{SourceEntry, SourceEntryKind, TripSource};
use crate::source_trip::SourceTrip;

/// Files of all trips of a source.
const MAX_SOURCE_FILES: usize = 1_000_000;
/// Names in all folders that are searched for trips.
const MAX_SOURCE_NAMES: usize = 2_000_000;

/// The trips of a source.
#[derive(Debug)]
pub(crate) struct SourceTrips {
    pub(crate) trips: Vec<SourceTrip>,
    /// The folder of the card, where receipts are written. `None` when the source is a
    /// single trip, which may be anywhere.
    pub(crate) card: Option<String>,
}

/// What to give as a source.
const GIVE: &str = "give the folder of a trip, a card or folder that holds trips, or a board as \
                    ssh://user@host";

/// Finds the trip that the source is, or the trips in it.
pub(crate) fn find_trips(source: &mut dyn TripSource) -> Result<SourceTrips, PullError> {
    let own = match source.own_name()? {
        None => return Err(nothing_there(&source.display_path(""))),
        Some((_, kind)) if kind != SourceEntryKind::Folder => {
            let path = source.display_path("");
            return Err(PullError::NoTrips(format!("{path} is a file; {GIVE}")));
        }
        Some((name, _)) => name,
    };
    let entries = source.list("")?;
    let kind_of = |name: &str| {
        let named = |entry: &&SourceEntry| entry.name.as_deref() == Some(name);
        entries.iter().find(named).map(|entry| entry.kind)
    };
    if is_trip_name(&own) || kind_of("trip.json").is_some() || kind_of("journal.jsonl").is_some() {
        let trips = vec![single_trip(source, &own, &entries)?];
        return Ok(SourceTrips { trips, card: None });
    }
    if let Some(found) = trips_of_card(source, "", &entries)? {
        return Ok(found);
    }
    if kind_of("trips") == Some(SourceEntryKind::Folder) {
        let deeper = source.list("trips")?;
        if let Some(found) = trips_of_card(source, "trips/", &deeper)? {
            return Ok(found);
        }
    }
    Err(PullError::NoTrips(format!(
        "there is no trip in {}: a trip is a folder such as trip-000017-3fa2c1 with trip.json, \
         journal.jsonl and audio in it",
        source.display_path("")
    )))
}

fn nothing_there(path: &str) -> PullError {
    // user@host, as ssh and scp take it.
    PullError::NoTrips(if path.contains('@') && !path.contains('/') {
        format!("there is no folder {path}; for a board write ssh://{path}")
    } else {
        format!("there is no folder {path}; {GIVE}")
    })
}

/// The source itself as a trip.
fn single_trip(
    source: &mut dyn TripSource,
    own: &str,
    entries: &[SourceEntry],
) -> Result<SourceTrip, PullError> {
    let evidence = read_evidence(source, &[(String::new(), entries)])?;
    let evidence = evidence.into_iter().next().unwrap_or_default();
    let by_folder = || is_trip_name(own).then(|| own.to_owned());
    let Some(name) = evidence.name().or_else(by_folder) else {
        return Err(PullError::NoTrips(format!(
            "{} is a trip without a name: neither its folder nor its trip.json says which one. \
             Give the folder the name it had on the board, such as trip-000017-3fa2c1",
            source.display_path("")
        )));
    };
    let mut trip = SourceTrip::new(name, own, evidence);
    list_files(source, "", &mut trip)?;
    Ok(trip)
}

/// The trips among the folders in a folder: those with the name of a trip, and those with
/// a trip's header, whatever they are called. `None` when there is no such folder.
fn trips_of_card(
    source: &mut dyn TripSource,
    prefix: &str,
    entries: &[SourceEntry],
) -> Result<Option<SourceTrips>, PullError> {
    let candidates = trip_folders(source, prefix, entries)?;
    if candidates.is_empty() {
        return Ok(None);
    }
    let paths: Vec<(String, &[SourceEntry])> = candidates
        .iter()
        .map(|(name, entries)| (format!("{prefix}{name}/"), entries.as_slice()))
        .collect();
    let evidence = read_evidence(source, &paths)?;
    let mut trips: Vec<SourceTrip> = Vec::new();
    let mut files = 0;
    for ((folder, _), evidence) in candidates.iter().zip(evidence) {
        let name = evidence.name().unwrap_or_else(|| (*folder).to_owned());
        if !is_trip_name(&name) {
            continue;
        }
        let mut trip = SourceTrip::new(name, folder, evidence);
        list_files(source, &format!("{prefix}{folder}/"), &mut trip)?;
        if !trip.is_under_its_name() {
            trip.notes.push(format!(
                "its folder on the card is called {folder}, so the board will not free its space"
            ));
        }
        files += trip.files.len();
        if files > MAX_SOURCE_FILES {
            return Err(PullError::NoTrips(format!(
                "{} has more than {MAX_SOURCE_FILES} files; no card of a board has that many",
                source.display_path(prefix)
            )));
        }
        trips.push(trip);
    }
    // The board's own folder comes before copies of it.
    trips.sort_by(|one, other| {
        let key = |trip: &SourceTrip| (trip.name.clone(), !trip.is_under_its_name());
        key(one).cmp(&key(other))
    });
    let card = Some(prefix.to_owned());
    Ok(Some(SourceTrips { trips, card }))
}

/// The folders that may be trips, with their entries.
fn trip_folders<'a>(
    source: &mut dyn TripSource,
    prefix: &str,
    entries: &'a [SourceEntry],
) -> Result<Vec<(&'a str, Vec<SourceEntry>)>, PullError> {
    let folders = entries
        .iter()
        .filter(|entry| entry.kind == SourceEntryKind::Folder);
    let mut names: Vec<&str> = folders
        .filter_map(|entry| entry.name.as_deref())
        .filter(|name| is_plain_name(name) && !name.starts_with('.'))
        .collect();
    names.sort_unstable();
    names.dedup();
    let (mut candidates, mut seen) = (Vec::new(), 0);
    for name in names {
        let inside = match source.list(&format!("{prefix}{name}")) {
            Ok(inside) => inside,
            Err(error) if error.is_source_gone() => return Err(error),
            // Listing its files reports why.
            Err(_) if is_trip_name(name) => Vec::new(),
            // Some other folder that not everybody may read.
            Err(_) => continue,
        };
        seen += inside.len();
        if seen > MAX_SOURCE_NAMES {
            return Err(PullError::NoTrips(format!(
                "{} has more than {MAX_SOURCE_NAMES} names; no card of a board has that many",
                source.display_path(prefix)
            )));
        }
        if is_trip_name(name) || has_header(&inside) {
            candidates.push((name, inside));
        }
    }
    Ok(candidates)
}

fn has_header(entries: &[SourceEntry]) -> bool {
    entries.iter().any(|entry| {
        entry.name.as_deref() == Some("trip.json") && entry.kind == SourceEntryKind::File
    })
}
