//! Which trips a source holds.

use std::collections::BTreeSet;
use std::time::SystemTime;

use anyhow::{Result, bail};

use super::identity::MAX_HEADER_BYTES;
use super::likeness::TripEvidence;
use super::names::{is_plain, is_trip};
use super::source::{FetchEvent, FileRange, SourceEntry, SourceEntryKind, TripSource, is_gone};
use crate::outcome::error_message;

/// A trip has one folder of sound; some room for what may come.
const MAX_TRIP_DEPTH: usize = 4;
/// Files of one trip: a day of short overs has some thousands.
const MAX_TRIP_FILES: usize = 100_000;
/// Files of all trips of a source.
const MAX_SOURCE_FILES: usize = 1_000_000;
/// Names in all folders that are looked into for trips.
const MAX_SOURCE_NAMES: usize = 2_000_000;
/// A WAV file can be no longer.
const MAX_SOUND_FILE_BYTES: u64 = 1 << 32;
/// What is no sound: a journal of a day of driving has 10 MB.
pub(super) const MAX_TEXT_FILE_BYTES: u64 = 128 << 20;
/// Doubts of one trip that are told.
const MAX_TRIP_DOUBTS: usize = 50;
/// Of every journal so much is read to tell which trip it is: some twenty records;
/// more where none of these is whole.
const JOURNAL_HEAD: u64 = 4 << 10;
const LONG_JOURNAL_HEAD: u64 = 1 << 20;

/// A trip to be copied.
#[derive(Debug)]
pub(super) struct SourceTrip {
    /// The name that the board gave it, as far as it tells: not the only one's.
    pub(super) name: String,
    /// What its folder there is called.
    pub(super) folder: String,
    /// What tells it from others of that name.
    pub(super) evidence: TripEvidence,
    /// Its files: sound first, then the rest, so that a journal that is copied
    /// never names a file that is not.
    pub(super) files: Vec<SourceFile>,
    /// What was passed over.
    pub(super) doubts: Vec<String>,
    /// What is worth a word.
    pub(super) notes: Vec<String>,
}

impl SourceTrip {
    pub(super) fn new(name: String, folder: &str, evidence: TripEvidence) -> Self {
        Self {
            name,
            folder: folder.to_owned(),
            evidence,
            files: Vec::new(),
            doubts: Vec::new(),
            notes: Vec::new(),
        }
    }

    /// Notes a doubt; of a folder full of them the first are told.
    fn doubt(&mut self, doubt: String) {
        match self.doubts.len() {
            0..MAX_TRIP_DOUBTS => self.doubts.push(doubt),
            MAX_TRIP_DOUBTS => self.doubts.push("and more of the like".into()),
            _ => {}
        }
    }

    /// Its folder is named as the board named it.
    pub(super) fn is_under_its_name(&self) -> bool {
        self.name == self.folder
    }
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
pub(super) struct SourceTrips {
    pub(super) trips: Vec<SourceTrip>,
    /// The folder of the card, where receipts go; None when a single trip was
    /// asked for, which may lie anywhere.
    pub(super) card: Option<String>,
}

/// The trip that the source is, or the trips in it.
pub(super) fn find_trips(source: &mut dyn TripSource) -> Result<SourceTrips> {
    let what = "give the folder of a trip, a card or folder with trips in it, or a board as \
                ssh://user@host";
    let own = match source.own_name()? {
        None => {
            let said = source.display_path("");
            // user@host, as ssh and scp take it.
            if said.contains('@') && !said.contains('/') {
                bail!("there is no folder {said}; for a board write ssh://{said}");
            }
            bail!("there is no folder {said}; {what}")
        }
        Some((_, kind)) if kind != SourceEntryKind::Folder => {
            bail!("{} is a file; {what}", source.display_path(""))
        }
        Some((name, _)) => name,
    };
    let inside = source.list("")?;
    let has = |name: &str| {
        let named = |entry: &&SourceEntry| entry.name.as_deref() == Some(name);
        inside.iter().find(named).map(|entry| entry.kind)
    };
    if is_trip(&own) || has("trip.json").is_some() || has("journal.jsonl").is_some() {
        let evidence = evidence(source, &[(String::new(), &inside)])?;
        let evidence = evidence.into_iter().next().unwrap_or_default();
        let told = evidence.name();
        let Some(name) = told.or_else(|| is_trip(&own).then(|| own.clone())) else {
            bail!(
                "{} is a trip without a name: neither its folder nor its trip.json tells which. \
                 Name the folder as it was on the board, such as trip-000017-3fa2c1",
                source.display_path("")
            );
        };
        let mut trip = SourceTrip::new(name, &own, evidence);
        look(source, "", &mut trip)?;
        let trips = vec![trip];
        return Ok(SourceTrips { trips, card: None });
    }
    if let Some(found) = card(source, "", &inside)? {
        return Ok(found);
    }
    if has("trips") == Some(SourceEntryKind::Folder) {
        let deeper = source.list("trips")?;
        if let Some(found) = card(source, "trips/", &deeper)? {
            return Ok(found);
        }
    }
    bail!(
        "there is no trip in {}: a trip is a folder such as trip-000017-3fa2c1 with trip.json, \
         journal.jsonl and audio in it",
        source.display_path("")
    )
}

/// The trips among the folders in a folder: those that are named so, and those that
/// have a trip's header in them whatever they are called.
fn card(
    source: &mut dyn TripSource,
    prefix: &str,
    inside: &[SourceEntry],
) -> Result<Option<SourceTrips>> {
    let folders = inside
        .iter()
        .filter(|entry| entry.kind == SourceEntryKind::Folder);
    let mut names: Vec<&str> = folders
        .filter_map(|entry| entry.name.as_deref())
        .filter(|name| is_plain(name) && !name.starts_with('.'))
        .collect();
    names.sort_unstable();
    names.dedup();
    let (mut candidates, mut seen) = (Vec::new(), 0);
    for name in names {
        let inside = match source.list(&format!("{prefix}{name}")) {
            Ok(inside) => inside,
            Err(error) if is_gone(&error) => return Err(error),
            // Why is told when its files are gathered.
            Err(_) if is_trip(name) => Vec::new(),
            // Some other folder, which is not for everybody to read.
            Err(_) => continue,
        };
        seen += inside.len();
        if seen > MAX_SOURCE_NAMES {
            bail!(
                "{} has more than {MAX_SOURCE_NAMES} names; that is no card of ours",
                source.display_path(prefix)
            );
        }
        if is_trip(name) || file(&inside, "trip.json").is_some() {
            candidates.push((name, inside));
        }
    }
    if candidates.is_empty() {
        return Ok(None);
    }
    let paths: Vec<(String, &Vec<SourceEntry>)> = candidates
        .iter()
        .map(|(name, inside)| (format!("{prefix}{name}/"), inside))
        .collect();
    let evidence = evidence(source, &paths)?;
    let mut trips: Vec<SourceTrip> = Vec::new();
    let mut files = 0;
    for ((folder, _), evidence) in candidates.iter().zip(evidence) {
        let header = evidence.name();
        let own = header.unwrap_or_else(|| (*folder).to_owned());
        if !is_trip(&own) {
            continue;
        }
        let mut trip = SourceTrip::new(own, folder, evidence);
        look(source, &format!("{prefix}{folder}/"), &mut trip)?;
        if !trip.is_under_its_name() {
            let note = format!("its folder there is called {folder}; the board will not free it");
            trip.notes.push(note);
        }
        files += trip.files.len();
        if files > MAX_SOURCE_FILES {
            bail!(
                "{} has more than {MAX_SOURCE_FILES} files; that is no card of ours",
                source.display_path(prefix)
            );
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

/// An ordinary file among the names in a folder.
fn file<'a>(inside: &'a [SourceEntry], name: &str) -> Option<&'a SourceEntry> {
    let named = |entry: &&SourceEntry| {
        entry.name.as_deref() == Some(name) && entry.kind == SourceEntryKind::File
    };
    inside.iter().find(named)
}

/// What tells trips from each other, fetched in one go: what leads to each trip's
/// folder, and what lies in it. Nothing from what is missing, too long or not to be
/// read.
fn evidence(
    source: &mut dyn TripSource,
    of: &[(String, &Vec<SourceEntry>)],
) -> Result<Vec<TripEvidence>> {
    let short = |header: &&SourceEntry| header.bytes <= MAX_HEADER_BYTES;
    let headers = of.iter().map(|(folder, inside)| {
        let header = file(inside, "trip.json").filter(short)?;
        Some((format!("{folder}trip.json"), header.bytes))
    });
    let journals = |most: u64| {
        move |(folder, inside): &(String, &Vec<SourceEntry>)| {
            let journal = file(inside, "journal.jsonl")?;
            Some((format!("{folder}journal.jsonl"), journal.bytes.min(most)))
        }
    };
    let both: Vec<WantedBeginning> = headers
        .chain(of.iter().map(journals(JOURNAL_HEAD)))
        .collect();
    let mut texts = beginnings(source, &both)?;
    let heads = texts.split_off(of.len());
    let make = |header: &Option<Vec<u8>>, head: &Option<Vec<u8>>| {
        TripEvidence::new(header.as_deref(), head.as_deref().unwrap_or_default())
    };
    let mut all: Vec<TripEvidence> = texts
        .iter()
        .zip(&heads)
        .map(|(header, head)| make(header, head))
        .collect();
    // A journal whose beginning is damaged may have whole records farther on.
    let more: Vec<WantedBeginning> = of
        .iter()
        .zip(&all)
        .map(|(trip, evidence)| {
            let longer = journals(LONG_JOURNAL_HEAD)(trip);
            longer.filter(|(_, bytes)| !evidence.has_records() && *bytes > JOURNAL_HEAD)
        })
        .collect();
    for (number, head) in beginnings(source, &more)?.iter().enumerate() {
        if head.is_some() {
            all[number] = make(&texts[number], head);
        }
    }
    Ok(all)
}

/// A path, and how much of the file's beginning is wanted; None for nothing.
type WantedBeginning = Option<(String, u64)>;

/// Reads the beginnings of files; None for what could not be read.
fn beginnings(
    source: &mut dyn TripSource,
    parts: &[WantedBeginning],
) -> Result<Vec<Option<Vec<u8>>>> {
    let mut texts: Vec<Option<Vec<u8>>> = vec![None; parts.len()];
    let (mut wanted, mut whose) = (Vec::new(), Vec::new());
    for (number, part) in parts.iter().enumerate() {
        if let Some((path, length)) = part {
            texts[number] = Some(Vec::new());
            whose.push(number);
            wanted.push(FileRange {
                path: path.clone(),
                from: 0,
                length: *length,
            });
        }
    }
    source.fetch(&wanted, &mut |number, got| {
        let text = &mut texts[whose[number]];
        match (got, text) {
            (FetchEvent::Piece(piece), Some(text)) => text.extend(piece),
            // When it is to be copied, it is told.
            (FetchEvent::Failed(_), text) => *text = None,
            (FetchEvent::Piece(_), None) => {}
        }
        Ok(())
    })?;
    Ok(texts)
}

/// Gathers the files of one trip; `prefix` leads to it and ends in "/", or is empty.
fn look(source: &mut dyn TripSource, prefix: &str, trip: &mut SourceTrip) -> Result<()> {
    gather(source, prefix, "", 0, trip)?;
    if trip.files.len() > MAX_TRIP_FILES {
        trip.files.clear();
        trip.doubt(format!(
            "{} has more than {MAX_TRIP_FILES} files; that is no trip of ours, and it was not copied",
            source.display_path(prefix)
        ));
    }
    trip.files.sort_by_key(|file| {
        let last = match file.name.as_str() {
            "trip.json" => 2,
            "journal.jsonl" => 1,
            _ => 0,
        };
        (last, file.name.clone())
    });
    if !trip.files.is_empty() && !trip.files.iter().any(|file| is_journal(&file.name)) {
        let note =
            "there is no journal in it, so its sound could not be held to what the board noted";
        trip.notes.push(note.into());
    }
    Ok(())
}

/// Regular files with plain names; hidden ones are left out.
fn gather(
    source: &mut dyn TripSource,
    prefix: &str,
    below: &str,
    depth: usize,
    trip: &mut SourceTrip,
) -> Result<()> {
    let folder = format!("{prefix}{below}");
    let mut entries = match source.list(folder.trim_end_matches('/')) {
        Ok(entries) => entries,
        Err(error) if is_gone(&error) => return Err(error),
        Err(error) => {
            let doubt = format!("{}; what is in it did not come", error_message(&error));
            trip.doubt(doubt);
            return Ok(());
        }
    };
    entries.sort_by(|one, other| one.name.cmp(&other.name));
    let mut names = BTreeSet::new();
    for entry in entries {
        let Some(own) = entry.name.filter(|own| is_plain(own)) else {
            let doubt = "a name in it cannot be a file's name here; it was passed over";
            trip.doubt(format!("{}: {doubt}", source.display_path(&folder)));
            continue;
        };
        if own.starts_with('.') {
            continue;
        }
        if !names.insert(own.to_lowercase()) {
            let doubt = "is there twice, but for its capitals; it was passed over";
            let path = source.display_path(&format!("{folder}{own}"));
            trip.doubt(format!("{path} {doubt}"));
            continue;
        }
        let (name, path) = (format!("{below}{own}"), format!("{folder}{own}"));
        let mut pass_over = |why: &str| {
            let doubt = format!("{} {why}; it was passed over", source.display_path(&path));
            trip.doubt(doubt);
        };
        match entry.kind {
            SourceEntryKind::Other => pass_over("is neither file nor folder"),
            SourceEntryKind::Folder if depth == MAX_TRIP_DEPTH => pass_over("is a folder too deep"),
            SourceEntryKind::Folder => {
                gather(source, prefix, &format!("{name}/"), depth + 1, trip)?
            }
            SourceEntryKind::File if entry.bytes > MAX_SOUND_FILE_BYTES => {
                pass_over("is longer than any recording")
            }
            SourceEntryKind::File if entry.bytes > MAX_TEXT_FILE_BYTES && below.is_empty() => {
                pass_over("is longer than any journal");
            }
            // What was counted so far says enough.
            SourceEntryKind::File if trip.files.len() > MAX_TRIP_FILES => return Ok(()),
            SourceEntryKind::File => trip.files.push(SourceFile {
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
    use super::super::source::FetchCallback;
    use super::*;

    /// A card on which a trip's folder never ends.
    struct EndlessCard {
        /// Files in each folder, and whether there is a folder in each as well.
        files: usize,
        deeper: bool,
        bytes: u64,
        trips: usize,
    }

    impl EndlessCard {
        fn entry(name: String, kind: SourceEntryKind, bytes: u64) -> SourceEntry {
            SourceEntry {
                name: Some(name),
                kind,
                bytes,
                modified: None,
            }
        }
    }

    impl TripSource for EndlessCard {
        fn display_path(&self, path: &str) -> String {
            format!("card/{path}")
        }

        fn own_name(&mut self) -> Result<Option<(String, SourceEntryKind)>> {
            Ok(Some(("card".into(), SourceEntryKind::Folder)))
        }

        fn list(&mut self, folder: &str) -> Result<Vec<SourceEntry>> {
            if folder.is_empty() {
                let names = (0..self.trips).map(|trip| format!("trip-{trip:06}-3fa2c1"));
                return Ok(names
                    .map(|name| Self::entry(name, SourceEntryKind::Folder, 0))
                    .collect());
            }
            let mut entries: Vec<SourceEntry> = (0..self.files)
                .map(|file| Self::entry(format!("{file}"), SourceEntryKind::File, self.bytes))
                .collect();
            if self.deeper {
                entries.push(Self::entry("deeper".into(), SourceEntryKind::Folder, 0));
            }
            Ok(entries)
        }

        fn metadata(&mut self, _path: &str) -> Result<Option<SourceEntry>> {
            Ok(None)
        }

        fn fetch(&mut self, _wanted: &[FileRange], _take: FetchCallback<'_>) -> Result<()> {
            Ok(())
        }

        fn write(&mut self, _path: &str, _bytes: &[u8]) -> Result<()> {
            Ok(())
        }

        fn hold_lease(&mut self, _path: &str) -> Result<()> {
            Ok(())
        }
    }

    #[track_caller]
    fn check(mut card: EndlessCard, expected: &str) {
        let said = match find_trips(&mut card) {
            Ok(found) => found.trips[0].doubts.join("\n"),
            Err(error) => error.to_string(),
        };
        assert!(said.contains(expected), "{said}");
    }

    #[test]
    fn a_card_without_end_has_an_end() {
        let plain = || EndlessCard {
            files: 3,
            deeper: false,
            bytes: 1,
            trips: 1,
        };
        check(plain(), "");
        check(
            EndlessCard {
                files: MAX_TRIP_FILES + 1,
                ..plain()
            },
            "more than 100000 files",
        );
        check(
            EndlessCard {
                deeper: true,
                ..plain()
            },
            "is a folder too deep",
        );
        check(
            EndlessCard {
                files: 90_000,
                trips: 12,
                ..plain()
            },
            "more than 1000000 files",
        );
        check(
            EndlessCard {
                bytes: MAX_TEXT_FILE_BYTES + 1,
                ..plain()
            },
            "longer than any journal",
        );
    }
}
