//! Which trips a source holds.

use std::time::SystemTime;

use anyhow::{Result, bail};

use super::identity::{Identity, MOST_HEADER};
use super::names::{is_plain, is_trip};
use super::source::{Entry, Kind, Source, Wanted};

/// A trip has one folder of sound; some room for what may come.
const DEEPEST: usize = 4;
/// Files of one trip: a day of short overs has some thousands.
const MOST_FILES: usize = 100_000;
/// Files of all trips of a source.
const MOST_OF_ALL: usize = 1_000_000;
/// A WAV file can be no longer.
const LONGEST_FILE: u64 = 1 << 32;
/// What is no sound: a journal of a day of driving has 10 MB.
const LONGEST_TEXT: u64 = 128 << 20;

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
    /// What is worth a word.
    pub(super) notes: Vec<String>,
    /// Its folder is named as the board named it.
    pub(super) under_its_name: bool,
}

/// Whether a file of a trip is one of its journals.
pub(super) fn is_journal(name: &str) -> bool {
    name.starts_with("journal") && name.ends_with(".jsonl")
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
    let what = "give the folder of a trip, a card or folder with trips in it, or a board as \
                ssh://user@host";
    let own = match source.own()? {
        None => {
            let said = source.say("");
            // user@host, as ssh and scp take it.
            if said.contains('@') && !said.contains('/') {
                bail!("there is no folder {said}; for a board write ssh://{said}");
            }
            bail!("there is no folder {said}; {what}")
        }
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
        let headers = headers(source, &[("trip.json".to_owned(), &inside)])?;
        let told = headers.into_iter().next().and_then(|header| header.name());
        let Some(name) = told.or_else(|| is_trip(&own).then_some(own)) else {
            bail!(
                "{} is a trip without a name: neither its folder nor its trip.json tells which. \
                 Name the folder as it was on the board, such as trip-000017-3fa2c1",
                source.say("")
            );
        };
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

/// The trips among the folders in a folder: those that are named so, and those that
/// have a trip's header in them whatever they are called.
fn card(source: &mut dyn Source, prefix: &str, inside: &[Entry]) -> Result<Option<Found>> {
    let folders = inside.iter().filter(|entry| entry.kind == Kind::Folder);
    let mut names: Vec<&str> = folders
        .filter_map(|entry| entry.name.as_deref())
        .filter(|name| is_plain(name) && !name.starts_with('.'))
        .collect();
    names.sort_unstable();
    let mut candidates = Vec::new();
    for name in names {
        let inside = match source.list(&format!("{prefix}{name}")) {
            Ok(inside) => inside,
            // Some other folder, which is not for everybody to read.
            Err(_) if !is_trip(name) => continue,
            Err(error) => return Err(error),
        };
        let header = inside
            .iter()
            .any(|entry| entry.name.as_deref() == Some("trip.json") && entry.kind == Kind::File);
        if is_trip(name) || header {
            candidates.push((name, inside));
        }
    }
    if candidates.is_empty() {
        return Ok(None);
    }
    let paths: Vec<(String, &Vec<Entry>)> = candidates
        .iter()
        .map(|(name, inside)| (format!("{prefix}{name}/trip.json"), inside))
        .collect();
    let headers = headers(source, &paths)?;
    let mut trips: Vec<SourceTrip> = Vec::new();
    let mut files = 0;
    for ((folder, _), header) in candidates.iter().zip(headers) {
        let own = header.name().unwrap_or_else(|| (*folder).to_owned());
        if !is_trip(&own) {
            continue;
        }
        let mut trip = look(source, &format!("{prefix}{folder}/"), own)?;
        trip.under_its_name = trip.name == *folder;
        if !trip.under_its_name {
            let note = format!("its folder there is called {folder}; the board will not free it");
            trip.notes.push(note);
        }
        files += trip.files.len();
        if files > MOST_OF_ALL {
            bail!(
                "{} has more than {MOST_OF_ALL} files; that is no card of ours",
                source.say(prefix)
            );
        }
        trips.push(trip);
    }
    // The board's own folder comes before copies of it.
    trips.sort_by(|one, other| {
        let key = |trip: &SourceTrip| (trip.name.clone(), !trip.under_its_name);
        key(one).cmp(&key(other))
    });
    let card = Some(prefix.to_owned());
    Ok(Some(Found { trips, card }))
}

/// What the trips say of themselves, fetched in one go: the path of each trip.json,
/// and what lies beside it. Nothing from one that is missing or too long.
fn headers(source: &mut dyn Source, of: &[(String, &Vec<Entry>)]) -> Result<Vec<Identity>> {
    let mut wanted = Vec::new();
    let mut whose = Vec::new();
    for (number, (path, beside)) in of.iter().enumerate() {
        let header = beside
            .iter()
            .find(|entry| entry.name.as_deref() == Some("trip.json") && entry.kind == Kind::File);
        if let Some(header) = header.filter(|header| header.bytes <= MOST_HEADER) {
            whose.push(number);
            wanted.push(Wanted {
                path: path.clone(),
                from: 0,
                length: header.bytes,
            });
        }
    }
    let mut texts = vec![Vec::new(); of.len()];
    source.fetch(&wanted, &mut |number, piece| {
        texts[whose[number]].extend(piece);
        Ok(())
    })?;
    Ok(texts.iter().map(|text| Identity::parse(text)).collect())
}

/// One trip; `prefix` leads to it and ends in "/", or is empty.
fn look(source: &mut dyn Source, prefix: &str, name: String) -> Result<SourceTrip> {
    let mut trip = SourceTrip {
        name,
        files: Vec::new(),
        doubts: Vec::new(),
        notes: Vec::new(),
        under_its_name: true,
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
            Kind::File if entry.bytes > LONGEST_TEXT && below.is_empty() => {
                pass_over("is longer than any journal");
            }
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

#[cfg(test)]
mod tests {
    use super::super::source::Take;
    use super::*;

    /// A card on which a trip's folder never ends.
    struct Endless {
        /// Files in each folder, and whether there is a folder in each as well.
        files: usize,
        deeper: bool,
        bytes: u64,
        trips: usize,
    }

    impl Endless {
        fn entry(name: String, kind: Kind, bytes: u64) -> Entry {
            Entry {
                name: Some(name),
                kind,
                bytes,
                modified: None,
            }
        }
    }

    impl Source for Endless {
        fn say(&self, path: &str) -> String {
            format!("card/{path}")
        }

        fn own(&mut self) -> Result<Option<(String, Kind)>> {
            Ok(Some(("card".into(), Kind::Folder)))
        }

        fn list(&mut self, folder: &str) -> Result<Vec<Entry>> {
            if folder.is_empty() {
                let names = (0..self.trips).map(|trip| format!("trip-{trip:06}-3fa2c1"));
                return Ok(names
                    .map(|name| Self::entry(name, Kind::Folder, 0))
                    .collect());
            }
            let mut entries: Vec<Entry> = (0..self.files)
                .map(|file| Self::entry(format!("{file}"), Kind::File, self.bytes))
                .collect();
            if self.deeper {
                entries.push(Self::entry("deeper".into(), Kind::Folder, 0));
            }
            Ok(entries)
        }

        fn fetch(&mut self, _wanted: &[Wanted], _take: Take<'_>) -> Result<()> {
            Ok(())
        }

        fn write(&mut self, _path: &str, _bytes: &[u8]) -> Result<()> {
            Ok(())
        }

        fn hold(&mut self, _path: &str) -> Result<()> {
            Ok(())
        }
    }

    #[track_caller]
    fn check(mut card: Endless, expected: &str) {
        let said = match find(&mut card) {
            Ok(found) => found.trips[0].doubts.join("\n"),
            Err(error) => error.to_string(),
        };
        assert!(said.contains(expected), "{said}");
    }

    #[test]
    fn a_card_without_end_has_an_end() {
        let plain = || Endless {
            files: 3,
            deeper: false,
            bytes: 1,
            trips: 1,
        };
        check(plain(), "");
        check(
            Endless {
                files: MOST_FILES + 1,
                ..plain()
            },
            "more than 100000 files",
        );
        check(
            Endless {
                deeper: true,
                ..plain()
            },
            "is a folder too deep",
        );
        check(
            Endless {
                files: 90_000,
                trips: 12,
                ..plain()
            },
            "more than 1000000 files",
        );
        check(
            Endless {
                bytes: LONGEST_TEXT + 1,
                ..plain()
            },
            "longer than any journal",
        );
    }
}
