//! The journal's text to records, one trusted line at a time.

use std::ops::RangeInclusive;
use std::path::{Path, PathBuf};

use jumpseat_core::journal::{BootId, Direction, Event, FrameError, Record, verify};
use serde::Deserialize;

use crate::Damage;

/// A year of samples at 48 kHz: more than any trip has.
const MOST_SAMPLES: u64 = 48_000 * 86_400 * 366;

/// Lines longer than this are never parsed: the longest record has 512 bytes.
const MOST_BYTES: usize = 4096;

/// Damage beyond this many places is counted, not listed: a hostile file of blank
/// lines must not fill the memory.
const MOST_DAMAGE: usize = 10_000;

/// What the text of a journal holds.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Journal {
    /// The records that can be trusted, in the journal's order.
    pub records: Vec<Record>,
    /// What is wrong with the rest.
    pub damage: Vec<Damage>,
}

/// Reads a journal's bytes. `path` is only used to say where damage is.
/// `boot` is the power-up that trip.json names; without it the first record's is taken.
/// Never fails: what cannot be read is damage.
pub fn parse_journal(path: &Path, text: &[u8], boot: Option<&str>) -> Journal {
    let mut reader = Reader {
        path,
        boot: boot.and_then(|boot| BootId::try_from(boot).ok()),
        last_seq: 0,
        unread: 0,
        further: 0,
        journal: Journal::default(),
    };
    if text.is_empty() {
        reader.damage(Damage::JournalEmpty {
            path: path.to_owned(),
        });
    }
    for (index, line) in text.split_inclusive(|&byte| byte == b'\n').enumerate() {
        reader.line(index + 1, line);
    }
    let mut journal = reader.journal;
    if reader.further > 0 {
        journal.damage.push(Damage::Further {
            path: path.to_owned(),
            count: reader.further,
        });
    }
    journal
}

/// Reads the files of one journal in their order. A board whose journal file failed
/// goes on in another, and writes there again what it does not know to be safe:
/// such records are taken from the later file, and a line that the earlier one
/// broke off in is no loss.
pub(crate) fn parse_journals(files: &[(PathBuf, Vec<u8>)], boot: Option<&str>) -> Journal {
    let mut whole = Journal::default();
    for (index, (path, text)) in files.iter().enumerate() {
        let mut next = parse_journal(path, text, boot);
        if let Some(first) = next
            .records
            .first()
            .map(|record| record.seq)
            .filter(|_| index > 0)
        {
            whole.records.retain(|record| record.seq < first);
            whole
                .damage
                .retain(|damage| !matches!(damage, Damage::TornLine { .. }));
            let last = whole.records.last().map_or(0, |record| record.seq);
            next.damage.retain(|damage| {
                !matches!(damage, Damage::SequenceHole { first: from, last: to, .. }
                    if *from == 1 && *to == first - 1)
            });
            if last + 1 < first {
                next.damage.push(Damage::SequenceHole {
                    path: path.clone(),
                    line: 1,
                    first: last + 1,
                    last: first - 1,
                });
            }
        }
        whole.records.extend(next.records);
        whole.damage.extend(next.damage);
    }
    whole
}

struct Reader<'a> {
    path: &'a Path,
    boot: Option<BootId>,
    last_seq: u64,
    /// Lines skipped since the last record: they explain as many missing numbers.
    unread: u64,
    /// Damage that is not listed.
    further: usize,
    journal: Journal,
}

impl Reader<'_> {
    fn line(&mut self, line: usize, bytes: &[u8]) {
        let path = self.path.to_owned();
        let whole = bytes.ends_with(b"\n");
        let text = bytes.strip_suffix(b"\n").unwrap_or(bytes);
        // A copy through another system may have turned "\n" into "\r\n".
        let text = text.strip_suffix(b"\r").unwrap_or(text);
        let checked = match text.len() {
            0..=MOST_BYTES => verify(text),
            _ => Err(FrameError::TooLong),
        };
        let json = match checked {
            Ok(json) => json,
            Err(_) if !whole => {
                let bytes = bytes.len();
                return self.skip(Damage::TornLine { path, line, bytes });
            }
            Err(reason) => return self.skip(Damage::DamagedLine { path, line, reason }),
        };
        match serde_json::from_slice::<Record>(json) {
            Ok(record) => self.record(line, record),
            Err(error) => match unknown_kind(json) {
                Some((seq, kind)) => {
                    self.sequence(line, seq);
                    let damage = Damage::UnknownEvent { path, line, kind };
                    self.damage(damage);
                }
                None => {
                    let reason = error.to_string();
                    self.skip(Damage::NotARecord { path, line, reason });
                }
            },
        }
    }

    fn damage(&mut self, damage: Damage) {
        if self.journal.damage.len() < MOST_DAMAGE {
            self.journal.damage.push(damage);
        } else {
            self.further += 1;
        }
    }

    fn skip(&mut self, damage: Damage) {
        self.unread += 1;
        self.damage(damage);
    }

    fn record(&mut self, line: usize, record: Record) {
        let path = self.path.to_owned();
        if self.boot.as_ref().is_some_and(|boot| *boot != record.boot) {
            let boot = record.boot;
            return self.skip(Damage::ForeignBoot { path, line, boot });
        }
        if let Some(reason) = impossible(&record.event) {
            return self.skip(Damage::Impossible { path, line, reason });
        }
        if self.sequence(line, record.seq) {
            self.boot.get_or_insert_with(|| record.boot.clone());
            self.journal.records.push(record);
        }
    }

    /// Follows the sequence numbers. False for a number that was there already.
    fn sequence(&mut self, line: usize, seq: u64) -> bool {
        let path = self.path.to_owned();
        if seq <= self.last_seq {
            let damage = Damage::SequenceRepeated { path, line, seq };
            self.damage(damage);
            return false;
        }
        let missing = seq - self.last_seq - 1;
        if missing > self.unread {
            self.damage(Damage::SequenceHole {
                path,
                line,
                first: self.last_seq + 1,
                last: seq - 1,
            });
        }
        self.unread = 0;
        self.last_seq = seq;
        true
    }
}

/// The number and the event's name, if the line is a record of a kind unknown here.
fn unknown_kind(json: &[u8]) -> Option<(u64, String)> {
    #[derive(Deserialize)]
    struct Envelope {
        seq: u64,
        event: serde_json::Map<String, serde_json::Value>,
    }
    const KNOWN: [&str; 16] = [
        "start",
        "segment_opened",
        "segment_closed",
        "segment_abandoned",
        "clock",
        "time_fix",
        "position_fix",
        "ptt",
        "mark",
        "mark_withdrawn",
        "dial",
        "level",
        "gap",
        "fault",
        "recovery",
        "shutdown",
    ];
    let envelope: Envelope = serde_json::from_slice(json).ok()?;
    let mut names = envelope.event.into_iter().map(|(name, _)| name);
    let name = names.next().filter(|_| names.next().is_none())?;
    (!KNOWN.contains(&name.as_str())).then_some((envelope.seq, name))
}

/// Says which value no trip can have. That every number is one, and not infinity, is
/// the JSON reader's doing: with its feature `float_roundtrip` it refuses others.
fn impossible(event: &Event) -> Option<&'static str> {
    let samples = |first: u64, count: u64| {
        (first > MOST_SAMPLES || count > MOST_SAMPLES)
            .then_some("a sample count beyond any trip's length")
    };
    let degrees = |value: f64, most: f64| value.is_finite() && value.abs() <= most;
    match event {
        Event::SegmentOpened { first_sample, .. } => samples(*first_sample, 0),
        Event::Clock { sample } => samples(*sample, 0),
        Event::SegmentClosed {
            first_sample,
            count,
            ..
        }
        | Event::SegmentAbandoned {
            first_sample,
            count,
            ..
        }
        | Event::Gap {
            first_sample,
            count,
            ..
        } => samples(*first_sample, *count),
        Event::PositionFix { lat, lon, .. } if !(degrees(*lat, 90.0) && degrees(*lon, 180.0)) => {
            Some("a position that is not on the globe")
        }
        _ => None,
    }
}

/// File names of segments: six digits or more, as the board writes them.
pub(crate) fn segment_of_name(name: &str) -> Option<(u32, Direction, &str)> {
    const DIGITS: RangeInclusive<usize> = 1..=10;
    let (stem, extension) = name.rsplit_once('.')?;
    let (number, word) = stem.split_once('-')?;
    let direction = match word {
        "rx" => Direction::Rx,
        "tx" => Direction::Tx,
        _ => return None,
    };
    let digits = DIGITS.contains(&number.len()) && number.bytes().all(|byte| byte.is_ascii_digit());
    let number = digits.then(|| number.parse().ok()).flatten()?;
    matches!(extension, "wav" | "flac").then_some((number, direction, extension))
}

/// Which of a trip's journal files this is, if it is one: `journal.jsonl` is the
/// first, `journal-2.jsonl` the second.
pub(crate) fn journal_of_name(name: &str) -> Option<u32> {
    let middle = name.strip_prefix("journal")?.strip_suffix(".jsonl")?;
    match middle.strip_prefix('-') {
        None => middle.is_empty().then_some(1),
        Some(number) => number.parse().ok().filter(|&number| number > 1),
    }
}
