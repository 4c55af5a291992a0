//! Writes one audio file on the card, through hound.

use std::cell::RefCell;
use std::io::{self, Seek, Write};
use std::path::{Path, PathBuf};
use std::rc::Rc;

use hound::{SampleFormat, WavSpec, WavWriter};
use jumpseat_core::journal::{AudioDirection, Sha256Hex};
use sha2::{Digest as _, Sha256};

use crate::error::RecorderError;
use crate::sha256::hex;
use crate::storage::{CardStorage, StoredFile, checked};
use crate::trip_header::AUDIO_FORMAT;

const WAV_SPEC: WavSpec = WavSpec {
    channels: AUDIO_FORMAT.channels,
    sample_rate: AUDIO_FORMAT.sample_rate,
    bits_per_sample: AUDIO_FORMAT.bits,
    sample_format: SampleFormat::Int,
};

/// A file shared with hound, which owns its writer although the file must be synced from
/// outside. On drop hound writes the header once more; the file is `None` by then, so that
/// nothing follows a sync. The header is up to date already, or the file is abandoned.
#[derive(Clone)]
struct SharedFile(Rc<RefCell<Option<Box<dyn StoredFile>>>>);

impl SharedFile {
    fn with<T: Default>(
        &self,
        act: impl FnOnce(&mut dyn StoredFile) -> io::Result<T>,
    ) -> io::Result<T> {
        self.0
            .borrow_mut()
            .as_mut()
            .map_or_else(|| Ok(T::default()), |file| act(file.as_mut()))
    }
}

impl Write for SharedFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match self.0.borrow_mut().as_mut() {
            Some(file) => file.write(bytes),
            None => Ok(bytes.len()),
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        self.with(|file| file.flush())
    }
}

impl Seek for SharedFile {
    fn seek(&mut self, position: io::SeekFrom) -> io::Result<u64> {
        self.with(|file| file.seek(position))
    }
}

/// Which segment a file holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct SegmentIdentity {
    /// Number in the file's name.
    pub(crate) number: u32,
    /// Received or transmitted.
    pub(crate) direction: AudioDirection,
    /// Sample count of its first sample.
    pub(crate) first_sample: u64,
}

/// A WAV file whose header is correct after every sync. Samples are kept in memory until
/// they are synced.
pub(crate) struct SegmentFile {
    place: SegmentIdentity,
    writer: WavWriter<SharedFile>,
    file: SharedFile,
    path: PathBuf,
    /// Samples that are synced.
    safe: u64,
    /// Samples after them.
    newest: Vec<i16>,
    /// How many of these were written to the system already: few large writes cost a small
    /// board less.
    handed: usize,
    /// Digest of the samples that were written to the system.
    digest: Sha256,
    header_due: bool,
}

/// Samples per write: half a second.
const WRITE_BATCH_SAMPLES: usize = 8_000;

impl SegmentFile {
    /// Creates the file; its name is synced when this returns.
    pub(crate) fn create(
        storage: &mut dyn CardStorage,
        audio_dir: &Path,
        place: SegmentIdentity,
    ) -> Result<Self, RecorderError> {
        let name = format!("{:06}-{}.wav", place.number, place.direction.name());
        let path = audio_dir.join(name);
        let file = checked::create(storage, &path)?;
        let file = SharedFile(Rc::new(RefCell::new(Some(file))));
        let begun = WavWriter::new(file.clone(), WAV_SPEC)
            .map_err(|error| sound_error(&path, error))
            .and_then(|writer| {
                checked::sync_dir(storage, audio_dir)?;
                Ok(writer)
            });
        match begun {
            Ok(writer) => Ok(Self {
                place,
                writer,
                file,
                path,
                safe: 0,
                newest: Vec::new(),
                handed: 0,
                digest: Sha256::new(),
                header_due: true,
            }),
            Err(error) => {
                // The file is empty. If it cannot even be removed, readers ignore it,
                // because no record names it.
                let _stays = storage.remove(&path);
                Err(error)
            }
        }
    }

    /// The segment that it holds.
    pub(crate) const fn identity(&self) -> SegmentIdentity {
        self.place
    }

    /// Number of synced samples.
    pub(crate) const fn safe(&self) -> u64 {
        self.safe
    }

    /// Its path.
    pub(crate) fn path(&self) -> &Path {
        &self.path
    }

    /// SHA-256 of its samples, once all of them are synced.
    pub(crate) fn sum(&self) -> Option<Sha256Hex> {
        (self.handed == self.newest.len()).then(|| hex(self.digest.clone()))
    }

    /// The samples that are not synced, for another file.
    pub(crate) fn into_newest(mut self) -> Vec<i16> {
        std::mem::take(&mut self.newest)
    }

    /// Takes samples. They are written to the system within half a second, and reach the
    /// card with the next sync.
    pub(crate) fn write(&mut self, samples: &[i16]) -> Result<(), RecorderError> {
        self.newest.extend_from_slice(samples);
        if self.newest.len() - self.handed < WRITE_BATCH_SAMPLES {
            return Ok(());
        }
        self.hand_over()
    }

    fn hand_over(&mut self) -> Result<(), RecorderError> {
        let waiting = self.newest.get(self.handed..).unwrap_or(&[]);
        if waiting.is_empty() {
            return Ok(());
        }
        let count = u32::try_from(waiting.len()).unwrap_or(u32::MAX);
        let mut run = self.writer.get_i16_writer(count);
        for &sample in waiting {
            run.write_sample(sample);
            self.digest.update(sample.to_le_bytes());
        }
        run.flush()
            .map_err(|error| sound_error(&self.path, error))?;
        self.handed = self.newest.len();
        Ok(())
    }

    /// Updates the header and syncs the file.
    pub(crate) fn sync(&mut self) -> Result<(), RecorderError> {
        if self.newest.is_empty() && !self.header_due {
            return Ok(());
        }
        self.hand_over()?;
        self.writer
            .flush()
            .map_err(|error| sound_error(&self.path, error))?;
        self.file
            .with(|file| file.sync())
            .map_err(|source| RecorderError::io("sync", &self.path, source))?;
        self.safe += self.newest.len() as u64;
        self.newest.clear();
        self.handed = 0;
        self.header_due = false;
        Ok(())
    }
}

impl Drop for SegmentFile {
    fn drop(&mut self) {
        self.file.0.borrow_mut().take();
    }
}

fn sound_error(path: &Path, error: hound::Error) -> RecorderError {
    let source = match error {
        hound::Error::IoError(source) => source,
        other => io::Error::other(other),
    };
    RecorderError::io("write", path, source)
}
