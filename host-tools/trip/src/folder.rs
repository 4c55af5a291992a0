//! A trip folder: opened, read through once, and never written to.

use std::fs::{self, File};
use std::io::{self, BufReader, Read};
use std::path::{Path, PathBuf};

use jumpseat_core::journal::{BootId, JournalEvent, JournalRecord};
use jumpseat_files::open_regular_file;

use crate::header::{self, HeaderText, folder_name, numbers_of_name};
use crate::journal::{ParsedJournal, boots, journal_of_name, read_journal, read_next_journal};
use crate::limited_reader::LimitedReader;
use crate::witness::{self, HeaderFile, TripWitnesses};
use crate::{
    AudioSegment, RETENTION_FILE, RetentionManifest, TripDamage, TripError, TripJsonHeader,
    name_on_board, segment,
};

/// A journal of a day of driving has 10 MB. Beyond this, all files of it together, it
/// is something else, and is not read on.
const MOST_JOURNAL_BYTES: u64 = 256 << 20;

/// trip.json has a few hundred bytes.
const MOST_HEADER_BYTES: u64 = 1 << 16;

/// The beginning of a journal that says which trip it is of.
const ID_LOOK_BYTES: u64 = 1 << 14;

/// So many lines of each journal vote on the power-up.
const VOTING_LINES: usize = 1000;

/// One trip: header, records, segments, and what is wrong with them.
#[derive(Debug, Clone)]
pub struct Trip {
    dir: PathBuf,
    id: String,
    header: TripJsonHeader,
    records: Vec<JournalRecord>,
    segments: Vec<AudioSegment>,
    damage: Vec<TripDamage>,
    kept: bool,
}

impl Trip {
    /// Opens a trip folder and reads everything but the audio.
    ///
    /// Errors only when there is nothing to work with, or when the folder is of a
    /// newer format; any lesser trouble is in [`Trip::damage`].
    pub fn open(dir: &Path) -> Result<Self, TripError> {
        let listing = list(dir)?;
        if listing.is_empty() {
            return Err(TripError::Empty { path: dir.into() });
        }
        let file = header_file(&dir.join("trip.json"))?;
        let mut damage = Vec::new();
        let journals = journal_paths(dir, &listing, &mut damage);
        let boot = witness::voted_boot(&file, &boot_votes(&journals)?);
        let journal = read_journals(&journals, boot.as_ref())?;
        if journals.is_empty() {
            let path = dir.join("journal.jsonl");
            damage.push(TripDamage::JournalMissing { path });
        }
        damage.extend(journal.damage);
        let mut strays = Vec::new();
        let files = segment::list_sound_files(&dir.join("audio"), &mut strays)?;
        if matches!(file, HeaderFile::Missing) && journals.is_empty() && !is_named(dir, &files) {
            return Err(TripError::NotATrip { path: dir.into() });
        }
        let told = matches!(file, HeaderFile::Text(HeaderText::Shaped(_)));
        if !told && journal.records.is_empty() && files.is_empty() {
            return Err(TripError::NothingReadable { path: dir.into() });
        }
        let witnesses = TripWitnesses {
            dir,
            file,
            boot,
            records: &journal.records,
            sound: segment::count_formats(&files),
        };
        let (header, doubts) = witnesses.judge()?;
        damage.splice(0..0, doubts);
        let name = folder_name(dir);
        // Of two trips of one name the library appends the power-up to the second.
        let is_second = name_on_board(&name) != name && name_on_board(&name) == header.name();
        let id = if header.board.is_empty() || is_second {
            name.clone()
        } else {
            header.name()
        };
        if name != id {
            damage.push(TripDamage::FolderName {
                path: dir.to_owned(),
                expected: id.clone(),
            });
        }
        damage.extend(extras(dir, &listing));
        damage.append(&mut strays);
        let kept = RetentionManifest::load(dir).unwrap_or_else(|reason| {
            let path = dir.join(RETENTION_FILE);
            damage.push(TripDamage::KeptUnreadable { path, reason });
            None
        });
        let gone = kept
            .as_ref()
            .map(RetentionManifest::removed_paths)
            .unwrap_or_default();
        let found = segment::gather(dir, &journal.records, header.audio, &gone, files);
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

    /// What [`Trip::id`] would be for the trip in a folder, from the beginning of its journal
    /// or from its trip.json; `None` where neither says.
    pub fn id_in(dir: &Path) -> Option<String> {
        let journal = open(&dir.join("journal.jsonl")).ok();
        let head = journal.map(|text| text.take(ID_LOOK_BYTES));
        let records = head.map(|text| read_journal(dir, BufReader::new(text), None).records);
        let repeated = records
            .iter()
            .flatten()
            .find_map(|record| match &record.event {
                JournalEvent::Trip {
                    format: 1,
                    trip,
                    board,
                    ..
                } => Some(header::name((*trip).into(), board)),
                _ => None,
            });
        repeated.or_else(|| match header_file(&dir.join("trip.json")) {
            Ok(HeaderFile::Text(HeaderText::Shaped(header))) => Some(header.name()),
            _ => None,
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
    pub fn header(&self) -> &TripJsonHeader {
        &self.header
    }

    /// Every record that can be trusted, in the journal's order.
    pub fn records(&self) -> &[JournalRecord] {
        &self.records
    }

    /// The audio files in the order of their first samples.
    pub fn segments(&self) -> &[AudioSegment] {
        &self.segments
    }

    /// Only what belongs to confirmed contacts is left of its sound.
    pub fn is_kept_in_part(&self) -> bool {
        self.kept
    }

    /// Everything that is wrong, journal first.
    pub fn damage(&self) -> &[TripDamage] {
        &self.damage
    }

    /// The instants at which the mark button was pressed, in nanoseconds of the
    /// monotonic clock, ascending. Marks that a long press took back are left out.
    pub fn marks(&self) -> Vec<u64> {
        let mut marks = Vec::new();
        for record in &self.records {
            match record.event {
                JournalEvent::Mark {} => marks.push(record.mono_ns),
                JournalEvent::MarkWithdrawn { mark_ns } => marks.retain(|&mark| mark != mark_ns),
                _ => {}
            }
        }
        marks.sort_unstable();
        marks
    }

    /// The recorder wrote its last record in order. A journal that goes on in another
    /// file repeats at its end which trip it is of.
    pub fn ended_in_order(&self) -> bool {
        let mut events = self.records.iter().rev();
        events
            .find(|record| !matches!(record.event, JournalEvent::Trip { .. }))
            .is_some_and(|record| matches!(record.event, JournalEvent::Shutdown { .. }))
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

fn io_error(path: &Path, source: io::Error) -> TripError {
    TripError::Io {
        path: path.to_owned(),
        doing: "read the file",
        source,
    }
}

/// What is there of trip.json. An error only where a person may mend it by asking for
/// the right to read it.
fn header_file(path: &Path) -> Result<HeaderFile, TripError> {
    let mut text = Vec::new();
    let read = open_regular_file(path)
        .and_then(|file| file.take(MOST_HEADER_BYTES + 1).read_to_end(&mut text));
    Ok(match read {
        Ok(_) if text.len() as u64 > MOST_HEADER_BYTES => {
            HeaderFile::Unreadable(format!("it is longer than {MOST_HEADER_BYTES} bytes"))
        }
        Ok(_) => HeaderFile::Text(header::read(&text)),
        Err(error) if error.kind() == io::ErrorKind::NotFound => HeaderFile::Missing,
        Err(error) if error.kind() == io::ErrorKind::PermissionDenied => {
            return Err(io_error(path, error));
        }
        Err(error) => HeaderFile::Unreadable(error.to_string()),
    })
}

/// The journal's files in their order; those that are none are damage.
fn journal_paths(dir: &Path, names: &[String], damage: &mut Vec<TripDamage>) -> Vec<PathBuf> {
    let mut numbered: Vec<(u32, &String)> = names
        .iter()
        .filter_map(|name| Some((journal_of_name(name)?, name)))
        .collect();
    numbered.sort_unstable();
    let paths = numbered.into_iter().map(|(_, name)| dir.join(name));
    let (ordinary, others): (Vec<_>, Vec<_>) = paths.partition(|path| is_ordinary(path));
    damage.extend(
        others
            .into_iter()
            .map(|path| TripDamage::NotOrdinary { path }),
    );
    ordinary
}

fn is_ordinary(path: &Path) -> bool {
    path.symlink_metadata().is_ok_and(|data| data.is_file())
}

fn open(path: &Path) -> Result<BufReader<File>, TripError> {
    let file = open_regular_file(path).map_err(|error| io_error(path, error))?;
    Ok(BufReader::with_capacity(1 << 16, file))
}

/// What the journals say of the power-up.
fn boot_votes(journals: &[PathBuf]) -> Result<Vec<(BootId, usize)>, TripError> {
    let mut votes: Vec<(BootId, usize)> = Vec::new();
    for path in journals {
        for (boot, count) in boots(open(path)?, VOTING_LINES) {
            match votes.iter_mut().find(|(known, _)| *known == boot) {
                Some((_, all)) => *all += count,
                None => votes.push((boot, count)),
            }
        }
    }
    Ok(votes)
}

fn read_journals(paths: &[PathBuf], boot: Option<&BootId>) -> Result<ParsedJournal, TripError> {
    let mut whole = ParsedJournal::default();
    let mut left = MOST_JOURNAL_BYTES;
    for (index, path) in paths.iter().enumerate() {
        let mut text = LimitedReader::new(open(path)?, left);
        let boot = boot.map(BootId::as_str);
        read_next_journal(&mut whole, path, &mut text, boot, index == 0);
        left = text.left();
    }
    Ok(whole)
}

/// Sound in a folder with a trip's name is a trip, though nothing else is left of it.
fn is_named(dir: &Path, files: &segment::SegmentFiles) -> bool {
    !files.is_empty() && numbers_of_name(&folder_name(dir)).is_some()
}

/// Files beside those that belong there. Hidden ones are the system's.
fn extras(dir: &Path, names: &[String]) -> Vec<TripDamage> {
    names
        .iter()
        .filter(|name| !["trip.json", "audio", RETENTION_FILE].contains(&name.as_str()))
        .filter(|name| journal_of_name(name).is_none())
        .filter(|name| !name.starts_with('.'))
        .map(|name| TripDamage::ExtraFile {
            path: dir.join(name),
        })
        .collect()
}
