//! Reads the journal's text into records, line by line, and trusts only lines whose
//! checksum is right.
//!
//! It is read as a stream: neither an endless line nor an endless file fills the memory.

use std::io::{self, BufRead};
use std::ops::RangeInclusive;
use std::path::Path;

use jumpseat_core::journal::{
    AudioDirection, BootId, JournalEvent, JournalLineError, JournalRecord, verify,
};
use serde::Deserialize;

use crate::{TripAudioFormat, TripDamage};

/// A year of samples at 48 kHz: more than any trip has.
const MOST_TRIP_SAMPLES: u64 = 48_000 * 86_400 * 366;

/// Lines longer than this are never parsed: the longest record has 512 bytes.
const MOST_LINE_BYTES: usize = 4096;

/// Damage beyond this many places is counted, not listed: a hostile file of blank
/// lines must not fill the memory.
const MOST_LISTED_DAMAGE: usize = 10_000;

/// Nearly two days of recording without a pause. From here on, of those records that
/// come every second only some are kept.
const MOST_UNTHINNED_RECORDS: usize = 300_000;

/// Of so many records in a row the first are kept, so that every kind is among them.
const THINNING_RUN: u64 = 1024;
const THINNING_KEPT: u64 = 64;

/// Beyond this many records it is no drive; a hundred megabytes of memory.
const MOST_JOURNAL_RECORDS: usize = 450_000;

/// What the text of a journal holds.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ParsedJournal {
    /// The records that can be trusted, in the journal's order.
    pub records: Vec<JournalRecord>,
    /// What is wrong with the rest.
    pub damage: Vec<TripDamage>,
}

/// Reads a journal's bytes. `path` is only used to say where damage is.
/// `boot` is the power-up that trip.json names; without it the first record's is taken.
/// Never fails: what cannot be read is damage.
pub fn parse_journal(path: &Path, text: &[u8], boot: Option<&str>) -> ParsedJournal {
    read_journal(path, text, boot)
}

/// Reads a journal as [`parse_journal`] does, from a file or whatever gives lines. Where
/// reading fails, what came before is kept, and the rest is damage.
pub fn read_journal(path: &Path, text: impl BufRead, boot: Option<&str>) -> ParsedJournal {
    let mut reader = JournalReader::new(path, boot, 0);
    reader.run(text);
    reader.end()
}

/// The next file of a journal whose records so far are `before`. A board whose journal
/// file failed goes on in another, and writes there again what it does not know to be
/// safe: such records are taken from the later file, and a line that the earlier one
/// broke off in is no loss.
pub(crate) fn read_next_journal(
    before: &mut ParsedJournal,
    path: &Path,
    text: impl BufRead,
    boot: Option<&str>,
    is_first: bool,
) {
    let mut reader = JournalReader::new(path, boot, before.records.len());
    reader.run(text);
    let mut next = reader.end();
    let first = next.records.first().map(|record| record.seq);
    if let Some(first) = first.filter(|_| !is_first) {
        before.records.retain(|record| record.seq < first);
        before
            .damage
            .retain(|damage| !matches!(damage, TripDamage::TornLine { .. }));
        let last = before.records.last().map_or(0, |record| record.seq);
        next.damage.retain(|damage| {
            !matches!(damage, TripDamage::SequenceHole { first: from, last: to, .. }
                if *from == 1 && *to == first - 1)
        });
        if last + 1 < first {
            next.damage.push(TripDamage::SequenceHole {
                path: path.to_owned(),
                line: 1,
                first: last + 1,
                last: first - 1,
            });
        }
    }
    before.records.append(&mut next.records);
    let room = MOST_LISTED_DAMAGE.saturating_sub(before.damage.len());
    if next.damage.len() > room + 1 {
        let count = next.damage.len() - room;
        next.damage.truncate(room);
        next.damage.push(TripDamage::Further {
            path: path.to_owned(),
            count,
        });
    }
    before.damage.append(&mut next.damage);
}

/// Which power-up the first trusted lines of a journal are of, with how many say so.
pub(crate) fn boots(text: impl BufRead, most_lines: usize) -> Vec<(BootId, usize)> {
    #[derive(Deserialize)]
    struct BootEnvelope {
        boot: BootId,
    }
    let mut found: Vec<(BootId, usize)> = Vec::new();
    let mut lines = JournalLines::new(text);
    for _ in 0..most_lines {
        // `read_journal` reports why it cannot be read.
        let Ok(Some(line)) = lines.next_line() else {
            break;
        };
        let Ok(json) = line.verified() else { continue };
        let Ok(BootEnvelope { boot }) = serde_json::from_slice(json) else {
            continue;
        };
        match found.iter_mut().find(|(known, _)| *known == boot) {
            Some((_, count)) => *count += 1,
            None => found.push((boot, 1)),
        }
    }
    found
}

/// Lines of a text, of which no more is kept in memory than a record can have.
struct JournalLines<R> {
    text: R,
    line: Vec<u8>,
}

/// A line, cut where it is longer than any record.
struct JournalLine<'a> {
    /// Its beginning, without its end.
    text: &'a [u8],
    /// Bytes of the whole of it, its end included.
    bytes: usize,
    /// It has an end.
    whole: bool,
}

impl<R: BufRead> JournalLines<R> {
    fn new(text: R) -> Self {
        Self {
            text,
            line: Vec::new(),
        }
    }

    fn next_line(&mut self) -> io::Result<Option<JournalLine<'_>>> {
        self.line.clear();
        let (mut bytes, mut whole) = (0, false);
        while !whole {
            let piece = match self.text.fill_buf() {
                Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
                piece => piece?,
            };
            if piece.is_empty() {
                break;
            }
            let end = piece.iter().position(|&byte| byte == b'\n');
            let used = end.map_or(piece.len(), |end| end + 1);
            // Two bytes beyond the limit stay, so that a longer line is known as such.
            let room = (MOST_LINE_BYTES + 2).saturating_sub(self.line.len());
            self.line.extend_from_slice(&piece[..used.min(room)]);
            self.text.consume(used);
            bytes += used;
            whole = end.is_some();
        }
        if bytes == 0 {
            return Ok(None);
        }
        let text = self.line.strip_suffix(b"\n").unwrap_or(&self.line);
        // A copy through another system may have turned "\n" into "\r\n".
        let text = text.strip_suffix(b"\r").unwrap_or(text);
        Ok(Some(JournalLine { text, bytes, whole }))
    }
}

impl<'a> JournalLine<'a> {
    /// The record's text, if the checksum confirms it.
    fn verified(&self) -> Result<&'a [u8], JournalLineError> {
        match self.text.len() {
            0..=MOST_LINE_BYTES => verify(self.text),
            _ => Err(JournalLineError::TooLong),
        }
    }
}

struct JournalReader<'a> {
    path: &'a Path,
    boot: Option<BootId>,
    last_seq: u64,
    /// Lines skipped since the last record: they explain as many missing numbers.
    unread: u64,
    /// Damage that is not listed.
    further: usize,
    /// Records that other files of the journal hold.
    before: usize,
    /// Records that come every second, beyond what is kept of them.
    thinned: u64,
    /// Records beyond what any trip has.
    dropped: u64,
    journal: ParsedJournal,
}

impl<'a> JournalReader<'a> {
    fn new(path: &'a Path, boot: Option<&str>, before: usize) -> Self {
        Self {
            path,
            boot: boot.and_then(|boot| BootId::try_from(boot).ok()),
            last_seq: 0,
            unread: 0,
            further: 0,
            before,
            thinned: 0,
            dropped: 0,
            journal: ParsedJournal::default(),
        }
    }

    fn run(&mut self, text: impl BufRead) {
        let mut lines = JournalLines::new(text);
        let mut count = 0;
        loop {
            match lines.next_line() {
                Ok(Some(line)) => {
                    count += 1;
                    self.line(count, &line);
                }
                Ok(None) if count == 0 => {
                    let path = self.path.to_owned();
                    return self.damage(TripDamage::JournalEmpty { path });
                }
                Ok(None) => return,
                Err(error) => {
                    let (path, reason) = (self.path.to_owned(), error.to_string());
                    return self.damage(TripDamage::JournalUnreadable {
                        path,
                        lines: count,
                        reason,
                    });
                }
            }
        }
    }

    fn end(self) -> ParsedJournal {
        let mut journal = self.journal;
        let path = || self.path.to_owned();
        if self.further > 0 {
            let count = self.further;
            journal.damage.push(TripDamage::Further {
                path: path(),
                count,
            });
        }
        if self.thinned + self.dropped > 0 {
            journal.damage.push(TripDamage::JournalLong {
                path: path(),
                thinned: self.thinned,
                dropped: self.dropped,
            });
        }
        journal
    }

    fn line(&mut self, line: usize, read: &JournalLine<'_>) {
        let path = self.path.to_owned();
        let json = match read.verified() {
            Ok(json) => json,
            Err(_) if !read.whole => {
                let bytes = read.bytes;
                return self.skip(TripDamage::TornLine { path, line, bytes });
            }
            Err(reason) => return self.skip(TripDamage::DamagedLine { path, line, reason }),
        };
        match serde_json::from_slice::<JournalRecord>(json) {
            Ok(record) => self.record(line, record),
            Err(error) => match unknown_kind(json) {
                Some((seq, kind)) => {
                    self.sequence(line, seq);
                    let damage = TripDamage::UnknownEvent { path, line, kind };
                    self.damage(damage);
                }
                None => {
                    let reason = error.to_string();
                    self.skip(TripDamage::NotARecord { path, line, reason });
                }
            },
        }
    }

    fn damage(&mut self, damage: TripDamage) {
        if self.journal.damage.len() < MOST_LISTED_DAMAGE {
            self.journal.damage.push(damage);
        } else {
            self.further += 1;
        }
    }

    fn skip(&mut self, damage: TripDamage) {
        self.unread += 1;
        self.damage(damage);
    }

    fn record(&mut self, line: usize, record: JournalRecord) {
        let path = self.path.to_owned();
        if self.boot.as_ref().is_some_and(|boot| *boot != record.boot) {
            let boot = record.boot;
            return self.skip(TripDamage::ForeignBoot { path, line, boot });
        }
        if let Some(reason) = impossible(&record.event) {
            return self.skip(TripDamage::Impossible { path, line, reason });
        }
        if self.sequence(line, record.seq) {
            self.boot.get_or_insert_with(|| record.boot.clone());
            self.keep(record);
        }
    }

    /// Keeps a record, unless the memory is wanted for those that matter more.
    fn keep(&mut self, record: JournalRecord) {
        let count = self.before + self.journal.records.len();
        if count >= MOST_JOURNAL_RECORDS {
            self.dropped += 1;
        } else if count >= MOST_UNTHINNED_RECORDS
            && is_common(&record.event)
            && record.seq % THINNING_RUN >= THINNING_KEPT
        {
            self.thinned += 1;
        } else {
            self.journal.records.push(record);
        }
    }

    /// Follows the sequence numbers. False for a number that was there already.
    fn sequence(&mut self, line: usize, seq: u64) -> bool {
        let path = self.path.to_owned();
        if seq <= self.last_seq {
            let damage = TripDamage::SequenceRepeated { path, line, seq };
            self.damage(damage);
            return false;
        }
        let missing = seq - self.last_seq - 1;
        if missing > self.unread {
            self.damage(TripDamage::SequenceHole {
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
    struct EventEnvelope {
        seq: u64,
        event: serde_json::Map<String, serde_json::Value>,
    }
    const KNOWN: [&str; 19] = [
        "start",
        "trip",
        "segment_opened",
        "segment_closed",
        "segment_sum",
        "segment_abandoned",
        "clock",
        "time_fix",
        "pulse",
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
    let envelope: EventEnvelope = serde_json::from_slice(json).ok()?;
    let mut names = envelope.event.into_iter().map(|(name, _)| name);
    let name = names.next().filter(|_| names.next().is_none())?;
    (!KNOWN.contains(&name.as_str())).then_some((envelope.seq, name))
}

/// Records that come every second, and of which one more or less is no loss.
const fn is_common(event: &JournalEvent) -> bool {
    matches!(
        event,
        JournalEvent::Clock { .. }
            | JournalEvent::TimeFix { .. }
            | JournalEvent::Pulse { .. }
            | JournalEvent::PositionFix { .. }
            | JournalEvent::Level { .. }
    )
}

/// Says which value no trip can have. That every number is one, and not infinity, is
/// the JSON reader's doing: with its feature `float_roundtrip` it refuses others.
fn impossible(event: &JournalEvent) -> Option<&'static str> {
    let samples = |first: u64, count: u64| {
        (first > MOST_TRIP_SAMPLES || count > MOST_TRIP_SAMPLES)
            .then_some("a sample count beyond any trip's length")
    };
    let degrees = |value: f64, most: f64| value.is_finite() && value.abs() <= most;
    match event {
        JournalEvent::SegmentOpened { first_sample, .. } => samples(*first_sample, 0),
        JournalEvent::Clock { sample } => samples(*sample, 0),
        JournalEvent::SegmentClosed {
            first_sample,
            count,
            ..
        }
        | JournalEvent::SegmentAbandoned {
            first_sample,
            count,
            ..
        }
        | JournalEvent::Gap {
            first_sample,
            count,
            ..
        } => samples(*first_sample, *count),
        JournalEvent::Trip {
            format: 1,
            sample_rate,
            bits,
            channels,
            ..
        } => {
            let audio = TripAudioFormat {
                sample_rate: *sample_rate,
                bits: *bits,
                channels: *channels,
            };
            (!audio.is_possible()).then_some("audio that no trip holds")
        }
        JournalEvent::PositionFix { lat, lon, .. }
            if !(degrees(*lat, 90.0) && degrees(*lon, 180.0)) =>
        {
            Some("a position that is not on the globe")
        }
        _ => None,
    }
}

/// File names of segments: six digits or more, as the board writes them.
pub(crate) fn segment_of_name(name: &str) -> Option<(u32, AudioDirection, &str)> {
    const DIGITS: RangeInclusive<usize> = 1..=10;
    let (stem, extension) = name.rsplit_once('.')?;
    let (number, word) = stem.split_once('-')?;
    let direction = match word {
        "rx" => AudioDirection::Rx,
        "tx" => AudioDirection::Tx,
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
