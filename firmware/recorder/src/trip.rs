//! The trip folder as it is being written.

use std::path::{Path, PathBuf};

use jumpseat_core::journal::{BootId, Direction, Event, Fault, clip};
use jumpseat_core::segmenter::{Segment, Step};

use crate::card::{AUDIO_FORMAT, SOFTWARE, Station, TripHeader, next_trip, replace, trip_name};
use crate::error::RecorderError;
use crate::journal_file::JournalFile;
use crate::segment_file::SegmentFile;
use crate::storage::Storage;

/// One trip folder, open for writing. Troubles with the card are kept for
/// [`TripWriter::take_trouble`]; recording goes on as far as it can.
pub struct TripWriter {
    storage: Box<dyn Storage>,
    dir: PathBuf,
    audio_dir: PathBuf,
    journal: JournalFile,
    open: Option<SegmentFile>,
    /// How many samples at the end of the segment no file holds.
    unwritten: Option<u64>,
    trouble: Option<RecorderError>,
}

impl TripWriter {
    /// Makes the folder of the next trip on this card, with `trip.json` and an
    /// empty journal, all synced.
    ///
    /// # Errors
    /// [`RecorderError::Io`] when the card cannot be written.
    pub fn create(
        mut storage: Box<dyn Storage>,
        card: &Path,
        board: &str,
        boot: BootId,
        station: Station,
    ) -> Result<Self, RecorderError> {
        let trip = next_trip(storage.as_mut(), card)?;
        let dir = card.join(trip_name(trip, board));
        let audio_dir = dir.join("audio");
        for new in [&dir, &audio_dir] {
            storage
                .make_dir(new)
                .map_err(|source| RecorderError::io("make the folder", new, source))?;
        }
        let header = TripHeader {
            format: 1,
            trip,
            board: board.to_owned(),
            boot: boot.as_str().to_owned(),
            station,
            audio: AUDIO_FORMAT,
            software: SOFTWARE.to_owned(),
        };
        let path = dir.join("trip.json");
        let mut text = serde_json::to_vec(&header)
            .map_err(|error| RecorderError::io("encode for", &path, error.into()))?;
        text.push(b'\n');
        replace(storage.as_mut(), &path, &text)?;
        let journal = JournalFile::create(storage.as_mut(), &dir, boot)?;
        for changed in [dir.as_path(), card] {
            storage
                .sync_dir(changed)
                .map_err(|source| RecorderError::io("sync the folder", changed, source))?;
        }
        Ok(Self {
            storage,
            dir,
            audio_dir,
            journal,
            open: None,
            unwritten: None,
            trouble: None,
        })
    }

    /// The folder.
    pub fn dir(&self) -> &Path {
        &self.dir
    }

    /// Appends a record; durable with the next sync.
    pub fn record(&mut self, mono_ns: u64, event: Event) {
        let written = self.journal.append(mono_ns, event);
        self.keep(written);
    }

    /// Appends a record and waits until it is safe. `true` when it is.
    pub fn record_synced(&mut self, mono_ns: u64, event: Event) -> bool {
        let written = self
            .journal
            .append(mono_ns, event)
            .and_then(|()| self.journal.sync());
        let safe = written.is_ok();
        self.keep(written);
        safe
    }

    /// Does what the segmenter says. `mono_ns` tells the time of a sample.
    pub fn step(&mut self, step: &Step<'_>, mono_ns: impl Fn(u64) -> u64) {
        match *step {
            Step::Open(segment) => self.open_segment(segment, mono_ns(segment.first_sample)),
            Step::Write(samples) => self.write(samples),
            Step::Close(segment) => self.close_segment(segment, mono_ns),
        }
    }

    /// Makes all audio and records so far safe. `true` when they are and audio
    /// reaches a file.
    pub fn sync(&mut self) -> bool {
        let audio = match self.open.as_mut().map(SegmentFile::sync) {
            Some(Err(error)) => {
                self.abandon();
                Err(error)
            }
            _ => Ok(()),
        };
        let written = audio.and_then(|()| self.journal.sync());
        let safe = written.is_ok() && self.open.is_some();
        self.keep(written);
        safe
    }

    /// The open segment's file cannot be written: a new segment may have more luck.
    pub const fn wants_new_segment(&self) -> bool {
        self.unwritten.is_some()
    }

    /// The first trouble with the card since this was last asked.
    pub fn take_trouble(&mut self) -> Option<RecorderError> {
        self.trouble.take()
    }

    /// Bytes that may still be written, when the card tells.
    pub fn free_bytes(&mut self) -> Option<u64> {
        let free = self.storage.free_bytes(&self.dir);
        let free = free.map_err(|source| RecorderError::io("ask the space of", &self.dir, source));
        match free {
            Ok(bytes) => Some(bytes),
            Err(error) => {
                self.keep(Err(error));
                None
            }
        }
    }

    fn open_segment(&mut self, segment: Segment, mono_ns: u64) {
        match SegmentFile::create(self.storage.as_mut(), &self.audio_dir, segment) {
            Ok(file) => {
                self.open = Some(file);
                self.unwritten = None;
                let Segment {
                    number,
                    direction,
                    first_sample,
                    ..
                } = segment;
                self.record(mono_ns, opened(number, direction, first_sample));
            }
            Err(error) => {
                self.unwritten = Some(0);
                self.keep(Err(error));
            }
        }
    }

    fn write(&mut self, samples: &[i16]) {
        if let Some(file) = &mut self.open {
            let Err(error) = file.write(samples) else {
                return;
            };
            self.keep(Err(error));
            self.abandon();
        }
        if let Some(count) = &mut self.unwritten {
            *count += samples.len() as u64;
        }
    }

    fn close_segment(&mut self, segment: Segment, mono_ns: impl Fn(u64) -> u64) {
        let end = mono_ns(segment.first_sample + segment.count);
        if let Some(count) = self.unwritten.take() {
            let first_sample = segment.first_sample + segment.count - count;
            let gap = Event::Gap {
                first_sample,
                count,
                fault: Fault::Storage,
            };
            self.record(mono_ns(first_sample), gap);
        }
        let Some(mut file) = self.open.take() else {
            return;
        };
        let synced = file.sync();
        let complete = synced.is_ok();
        self.keep(synced);
        if complete {
            let closed = Event::SegmentClosed {
                segment: segment.number,
                direction: segment.direction,
                first_sample: segment.first_sample,
                count: segment.count,
            };
            self.record(end, closed);
        }
    }

    /// Leaves a file that could not be written or synced as it is, for a reader
    /// to salvage: after a failed sync nobody knows what it holds.
    fn abandon(&mut self) {
        if let Some(file) = self.open.take() {
            drop(file);
            self.unwritten = Some(0);
        }
    }

    fn keep(&mut self, result: Result<(), RecorderError>) {
        if let Err(error) = result {
            self.trouble.get_or_insert(error);
        }
    }
}

fn opened(segment: u32, direction: Direction, first_sample: u64) -> Event {
    Event::SegmentOpened {
        segment,
        direction,
        first_sample,
    }
}

/// The first record of every journal.
pub fn start_record() -> Event {
    Event::Start {
        software: clip(SOFTWARE),
    }
}
