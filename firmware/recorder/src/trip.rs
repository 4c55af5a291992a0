//! Writes a trip folder.

use std::path::{Path, PathBuf};

use jumpseat_core::journal::{BootId, JournalEvent, clip};
use jumpseat_core::segmenter::SegmenterStep;

use crate::audio_files::AudioFiles;
pub use crate::audio_files::SavingMode;
use crate::error::RecorderError;
use crate::journal_file::JournalFile;
use crate::storage::{CardStorage, checked};
use crate::trip_header::{AUDIO_FORMAT, ConfiguredStation, SOFTWARE, TripFileHeader};
use crate::trip_number::{self, NewTripFolder};

/// One trip folder, open for writing. Errors of the card are kept for
/// [`TripWriter::take_error`]; recording goes on as far as it can.
pub struct TripWriter {
    storage: Box<dyn CardStorage>,
    dir: PathBuf,
    number: u32,
    doubts: Vec<String>,
    journal: JournalFile,
    audio: AudioFiles,
    first_error: Option<RecorderError>,
}

impl TripWriter {
    /// Creates the folder of the next trip on this card, with `trip.json` and an empty
    /// journal, all synced. Its number is above all that the card knows and above `last`,
    /// which was kept outside the card.
    ///
    /// # Errors
    /// [`RecorderError::Io`] when the card cannot be written.
    pub fn create(
        mut storage: Box<dyn CardStorage>,
        card: &Path,
        board: &str,
        boot: BootId,
        station: ConfiguredStation,
        last: Option<u32>,
    ) -> Result<Self, RecorderError> {
        let NewTripFolder {
            number,
            dir,
            doubts,
        } = trip_number::make_trip_folder(storage.as_mut(), card, board, last)?;
        let audio_dir = dir.join("audio");
        checked::make_dir(storage.as_mut(), &audio_dir)?;
        let header = TripFileHeader {
            format: 1,
            trip: number,
            board: board.to_owned(),
            boot: boot.as_str().to_owned(),
            station,
            audio: AUDIO_FORMAT,
            software: SOFTWARE.to_owned(),
        };
        let path = dir.join("trip.json");
        let mut text = serde_json::to_vec(&header)
            .map_err(|error| RecorderError::io("encode a record for", &path, error.into()))?;
        text.push(b'\n');
        checked::replace(storage.as_mut(), &path, &dir.join("trip.part"), &text)?;
        let journal = JournalFile::create(storage.as_mut(), &dir, boot, header.event())?;
        for changed in [dir.as_path(), card] {
            checked::sync_dir(storage.as_mut(), changed)?;
        }
        Ok(Self {
            storage,
            dir,
            number,
            doubts,
            journal,
            audio: AudioFiles::new(audio_dir),
            first_error: None,
        })
    }

    /// The trip's number.
    pub const fn number(&self) -> u32 {
        self.number
    }

    /// What a person should check, since the last call: what was found when the trip began.
    pub fn take_doubts(&mut self) -> Vec<String> {
        std::mem::take(&mut self.doubts)
    }

    /// The folder.
    pub fn dir(&self) -> &Path {
        &self.dir
    }

    /// Begins the journal: records the start and which trip this is.
    pub fn begin(&mut self, mono_ns: u64) {
        self.record(
            mono_ns,
            JournalEvent::Start {
                software: clip(SOFTWARE),
            },
        );
        let written = self.journal.append_header(mono_ns);
        self.keep_error(written);
        self.sync_journal();
    }

    /// Appends a record; the next sync makes it durable.
    pub fn record(&mut self, mono_ns: u64, event: JournalEvent) {
        let written = self.journal.append(mono_ns, event);
        self.keep_error(written);
    }

    /// Appends a record and syncs it. Returns whether that succeeded.
    pub fn record_synced(&mut self, mono_ns: u64, event: JournalEvent) -> bool {
        self.record(mono_ns, event);
        self.sync_journal()
    }

    /// Carries out a step of the segmenter. `mono_ns` gives the time of a sample.
    pub fn step(&mut self, step: &SegmenterStep<'_>, mono_ns: impl Fn(u64) -> u64) {
        let storage = self.storage.as_mut();
        let done = match *step {
            SegmenterStep::Open(segment) => self.audio.begin(storage, segment),
            SegmenterStep::Write(samples) => self.audio.write(storage, samples),
            SegmenterStep::Close(_) => self.audio.close(storage),
        };
        self.keep_error(done);
        self.note(mono_ns);
    }

    /// Syncs all audio and records so far. Returns whether that succeeded and a file is
    /// open for audio.
    pub fn sync(&mut self, mono_ns: impl Fn(u64) -> u64) -> bool {
        let synced = self.audio.sync(self.storage.as_mut());
        self.keep_error(synced);
        self.note(mono_ns);
        self.sync_journal() && self.audio.is_open()
    }

    /// Tries again to write the audio that no file accepted.
    pub fn catch_up(&mut self, mono_ns: impl Fn(u64) -> u64) {
        let caught_up = self.audio.catch_up(self.storage.as_mut());
        self.keep_error(caught_up);
        self.note(mono_ns);
    }

    /// Finishes the audio of the trip.
    pub fn finish_audio(&mut self, mono_ns: impl Fn(u64) -> u64) {
        self.catch_up(&mono_ns);
        self.audio.finish();
        self.note(mono_ns);
    }

    /// Audio or records are kept in memory, because the card does not accept them.
    pub fn is_failing(&self) -> bool {
        self.audio.is_failing() || self.journal.is_failing()
    }

    /// Sets which overs are written from the next segment on.
    pub const fn set_saving_mode(&mut self, mode: SavingMode) {
        self.audio.saving_mode = mode;
    }

    /// Which overs are written.
    pub const fn saving_mode(&self) -> SavingMode {
        self.audio.saving_mode
    }

    /// The first error of the card since the last call.
    pub fn take_error(&mut self) -> Option<RecorderError> {
        self.first_error.take()
    }

    /// Free bytes, if the card reports them.
    pub fn free_bytes(&mut self) -> Option<u64> {
        match checked::free_bytes(self.storage.as_mut(), &self.dir) {
            Ok(bytes) => Some(bytes),
            Err(error) => {
                self.keep_error(Err(error));
                None
            }
        }
    }

    fn sync_journal(&mut self) -> bool {
        let synced = self.journal.sync(self.storage.as_mut());
        self.keep_error(synced);
        self.journal.is_safe()
    }

    fn note(&mut self, mono_ns: impl Fn(u64) -> u64) {
        for (sample, event) in self.audio.take_notes() {
            self.record(mono_ns(sample), event);
        }
    }

    fn keep_error(&mut self, result: Result<(), RecorderError>) {
        if let Err(error) = result {
            self.first_error.get_or_insert(error);
        }
    }
}
