//! A trip folder: opened, read through once, and never written to.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use jumpseat_core::journal::{Event, Record};

use crate::header::{self, HeaderText, folder_name};
use crate::journal::{journal_of_name, parse_journals};
use crate::{Damage, Header, KEPT, Kept, Segment, TripError, name_on_board, segment};

/// A journal of a day of driving has 10 MB; beyond this it is something else.
const MOST_JOURNAL: u64 = 128 << 20;

/// trip.json has a few hundred bytes.
const MOST_HEADER: u64 = 1 << 16;

/// One trip: header, records, segments, and what is wrong with them.
#[derive(Debug, Clone)]
pub struct Trip {
    dir: PathBuf,
    id: String,
    header: Header,
    records: Vec<Record>,
    segments: Vec<Segment>,
    damage: Vec<Damage>,
    kept: bool,
}

impl Trip {
    /// Opens a trip folder and reads everything but the audio.
    ///
    /// Errors only when there is nothing to work with, or when the folder is of a
    /// newer format; any lesser trouble is in [`Trip::damage`].
    pub fn open(dir: &Path) -> Result<Self, TripError> {
        let listing = list(dir)?;
        let header_path = dir.join("trip.json");
        let journal_path = dir.join("journal.jsonl");
        let header_text = read(&header_path, MOST_HEADER)?;
        let journal_files = journals(dir, &listing)?;
        if listing.is_empty() {
            return Err(TripError::Empty { path: dir.into() });
        }
        let mut damage = Vec::new();
        let header = match &header_text {
            Some(text) => match header::parse(&header_path, text)? {
                HeaderText::Whole(header) => Some(header),
                HeaderText::Damaged(reason) => {
                    let path = header_path.clone();
                    damage.push(Damage::HeaderUnreadable { path, reason });
                    None
                }
            },
            None if journal_files.is_empty() => {
                return Err(TripError::NotATrip { path: dir.into() });
            }
            None => {
                let path = header_path.clone();
                damage.push(Damage::HeaderMissing { path });
                None
            }
        };
        if journal_files.is_empty() {
            return Err(TripError::NoJournal { path: journal_path });
        }
        let boot = header.as_ref().map(|header| header.boot.as_str());
        let journal = parse_journals(&journal_files, boot);
        if header.is_none() && journal.records.is_empty() {
            return Err(TripError::NothingReadable { path: dir.into() });
        }
        damage.extend(journal.damage);
        let header = header.unwrap_or_else(|| salvage(dir, &journal.records));
        let name = folder_name(dir);
        // Of two trips of one name the library calls the second a little otherwise.
        let is_second = name_on_board(&name) != name && name_on_board(&name) == header.name();
        let id = if header.board.is_empty() || is_second {
            name.clone()
        } else {
            header.name()
        };
        if name != id {
            damage.push(Damage::FolderName {
                path: dir.to_owned(),
                expected: id.clone(),
            });
        }
        damage.extend(extras(dir, &listing));
        let kept = Kept::read(dir);
        let gone = kept.as_ref().map(Kept::gone).unwrap_or_default();
        let found = segment::gather(dir, &journal.records, header.audio, &gone)?;
        damage.extend(found.damage);
        Ok(Self {
            dir: dir.to_owned(),
            id,
            header,
            records: journal.records,
            segments: found.segments,
            damage,
            kept: kept.is_some(),
        })
    }

    /// The folder, as it was given.
    pub fn dir(&self) -> &Path {
        &self.dir
    }

    /// The trip's name on the board, such as "trip-000017-3fa2c1"; with what the
    /// library put behind it when it holds another trip of that name.
    pub fn id(&self) -> &str {
        &self.id
    }

    /// trip.json, or what could be gathered in its place.
    pub fn header(&self) -> &Header {
        &self.header
    }

    /// Every record that can be trusted, in the journal's order.
    pub fn records(&self) -> &[Record] {
        &self.records
    }

    /// The audio files in the order of their first samples.
    pub fn segments(&self) -> &[Segment] {
        &self.segments
    }

    /// Only what belongs to confirmed contacts is left of its sound.
    pub fn is_kept_in_part(&self) -> bool {
        self.kept
    }

    /// Everything that is wrong, journal first.
    pub fn damage(&self) -> &[Damage] {
        &self.damage
    }

    /// The instants at which the mark button was pressed, in nanoseconds of the
    /// monotonic clock, ascending. Marks that a long press took back are left out.
    pub fn marks(&self) -> Vec<u64> {
        let mut marks = Vec::new();
        for record in &self.records {
            match record.event {
                Event::Mark {} => marks.push(record.mono_ns),
                Event::MarkWithdrawn { mark_ns } => marks.retain(|&mark| mark != mark_ns),
                _ => {}
            }
        }
        marks.sort_unstable();
        marks
    }

    /// The recorder wrote its last record in order.
    pub fn ended_in_order(&self) -> bool {
        self.records
            .last()
            .is_some_and(|record| matches!(record.event, Event::Shutdown { .. }))
    }
}

fn list(dir: &Path) -> Result<Vec<String>, TripError> {
    let io_error = |source: io::Error| match source.kind() {
        io::ErrorKind::NotFound => TripError::NoFolder { path: dir.into() },
        io::ErrorKind::NotADirectory => TripError::NotAFolder { path: dir.into() },
        _ => TripError::Io {
            path: dir.into(),
            doing: "list the folder",
            source,
        },
    };
    let mut names = Vec::new();
    for entry in fs::read_dir(dir).map_err(io_error)? {
        let name = entry.map_err(io_error)?.file_name();
        names.push(name.to_string_lossy().into_owned());
    }
    names.sort_unstable();
    Ok(names)
}

/// A file's bytes; `None` when there is no such file.
fn read(path: &Path, most: u64) -> Result<Option<Vec<u8>>, TripError> {
    let io_error = |source| TripError::Io {
        path: path.to_owned(),
        doing: "read the file",
        source,
    };
    match fs::metadata(path) {
        Ok(data) if !data.is_file() => Ok(None),
        Ok(data) if data.len() > most => Err(TripError::TooLarge {
            path: path.to_owned(),
            bytes: data.len(),
        }),
        Ok(_) => fs::read(path).map(Some).map_err(io_error),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(io_error(error)),
    }
}

/// The journal's files in their order, with their bytes.
fn journals(dir: &Path, names: &[String]) -> Result<Vec<(PathBuf, Vec<u8>)>, TripError> {
    let mut numbered: Vec<(u32, &String)> = names
        .iter()
        .filter_map(|name| Some((journal_of_name(name)?, name)))
        .collect();
    numbered.sort_unstable();
    let mut files = Vec::new();
    for (_, name) in numbered {
        let path = dir.join(name);
        if let Some(text) = read(&path, MOST_JOURNAL)? {
            files.push((path, text));
        }
    }
    Ok(files)
}

fn salvage(dir: &Path, records: &[Record]) -> Header {
    let boot = records.first().map_or("", |record| record.boot.as_str());
    let software = records.iter().find_map(|record| match &record.event {
        Event::Start { software } => Some(software.as_str()),
        _ => None,
    });
    Header::salvaged(dir, boot, software.unwrap_or("unknown"))
}

/// Files beside those that belong there. Hidden ones are the system's.
fn extras(dir: &Path, names: &[String]) -> Vec<Damage> {
    names
        .iter()
        .filter(|name| !["trip.json", "audio", KEPT].contains(&name.as_str()))
        .filter(|name| journal_of_name(name).is_none())
        .filter(|name| !name.starts_with('.'))
        .map(|name| Damage::ExtraFile {
            path: dir.join(name),
        })
        .collect()
}
