//! Which trips a source holds.

use std::time::SystemTime;

use anyhow::{Result, bail};

use super::names::{is_plain, is_trip};
use super::source::{Entry, Kind, Source};

/// A trip has one folder of sound; some room for what may come.
const DEEPEST: usize = 4;
/// Files of one trip: a day of short overs has some thousands.
const MOST_FILES: usize = 100_000;
/// A WAV file can be no longer.
const LONGEST_FILE: u64 = 1 << 32;

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
    /// From the source's folder.
    pub(super) path: String,
    /// From the trip's folder, with "/" between.
    pub(super) name: String,
    pub(super) bytes: u64,
    pub(super) modified: Option<SystemTime>,
}

/// What was found.
#[derive(Debug)]
pub(super) struct Found {
    pub(super) trips: Vec<SourceTrip>,
    /// The folder of the card, where receipts go; None when a single trip was
    /// asked for, which may lie anywhere.
    pub(super) card: Option<String>,
}

/// The trip that the source is, or the trips in it.
pub(super) fn find(source: &mut dyn Source) -> Result<Found> {
    let what = "give the folder of a trip, or a card or folder with trips in it";
    let own = match source.own()? {
        None => bail!("there is no folder {}; {what}", source.say("")),
        Some((_, kind)) if kind != Kind::Folder => {
            bail!("{} is a file; {what}", source.say(""))
        }
        Some((name, _)) => name,
    };
    let inside = source.list("")?;
    let has = |name: &str| {
        let named = |entry: &&Entry| entry.name.as_deref() == Some(name);
        inside.iter().find(named).map(|entry| entry.kind)
    };
    if is_trip(&own) || has("trip.json").is_some() || has("journal.jsonl").is_some() {
        let name = if is_trip(&own) {
            own
        } else {
            source.trip_id()?
        };
        if !is_trip(&name) {
            bail!(
                "{} calls itself {name:?}, which is no trip's name",
                source.say("")
            );
        }
        let trips = vec![look(source, "", name)?];
        return Ok(Found { trips, card: None });
    }
    if let Some(found) = card(source, "", &inside)? {
        return Ok(found);
    }
    if has("trips") == Some(Kind::Folder) {
        let deeper = source.list("trips")?;
        if let Some(found) = card(source, "trips/", &deeper)? {
            return Ok(found);
        }
    }
    bail!(
        "there is no trip in {}: a trip is a folder such as trip-000017-3fa2c1 with trip.json, \
         journal.jsonl and audio in it",
        source.say("")
    )
}

/// The trips among the names in a folder.
fn card(source: &mut dyn Source, prefix: &str, inside: &[Entry]) -> Result<Option<Found>> {
    let folders = inside.iter().filter(|entry| entry.kind == Kind::Folder);
    let mut names: Vec<&str> = folders
        .filter_map(|entry| entry.name.as_deref())
        .filter(|name| is_trip(name))
        .collect();
    if names.is_empty() {
        return Ok(None);
    }
    names.sort_unstable();
    let mut trips = Vec::new();
    for name in names {
        trips.push(look(source, &format!("{prefix}{name}/"), name.to_owned())?);
    }
    let card = Some(prefix.to_owned());
    Ok(Some(Found { trips, card }))
}

/// One trip; `prefix` leads to it and ends in "/", or is empty.
fn look(source: &mut dyn Source, prefix: &str, name: String) -> Result<SourceTrip> {
    let mut trip = SourceTrip {
        name,
        files: Vec::new(),
        doubts: Vec::new(),
    };
    gather(source, prefix, "", 0, &mut trip)?;
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

/// Regular files with plain names; hidden ones are left out.
fn gather(
    source: &mut dyn Source,
    prefix: &str,
    below: &str,
    depth: usize,
    trip: &mut SourceTrip,
) -> Result<()> {
    let folder = format!("{prefix}{below}");
    let mut entries = source.list(folder.trim_end_matches('/'))?;
    entries.sort_by(|one, other| one.name.cmp(&other.name));
    for entry in entries {
        let Some(own) = entry.name.filter(|own| is_plain(own)) else {
            let doubt = "a name in it cannot be a file's name here; it was passed over";
            trip.doubts
                .push(format!("{}: {doubt}", source.say(&folder)));
            continue;
        };
        if own.starts_with('.') {
            continue;
        }
        let (name, path) = (format!("{below}{own}"), format!("{folder}{own}"));
        let mut pass_over = |why: &str| {
            let doubt = format!("{} {why}; it was passed over", source.say(&path));
            trip.doubts.push(doubt);
        };
        match entry.kind {
            Kind::Other => pass_over("is neither file nor folder"),
            Kind::Folder if depth == DEEPEST => pass_over("is a folder too deep"),
            Kind::Folder => gather(source, prefix, &format!("{name}/"), depth + 1, trip)?,
            Kind::File if entry.bytes > LONGEST_FILE => pass_over("is longer than any recording"),
            Kind::File if trip.files.len() == MOST_FILES => bail!(
                "{} has more than {MOST_FILES} files; that is no trip of ours. Pull the other \
                 trips one by one",
                source.say(prefix)
            ),
            Kind::File => trip.files.push(SourceFile {
                path,
                name,
                bytes: entry.bytes,
                modified: entry.modified,
            }),
        }
    }
    Ok(())
}
