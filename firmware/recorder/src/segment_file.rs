//! One audio file on the card, through hound.

use std::cell::RefCell;
use std::io::{self, Seek, Write};
use std::path::{Path, PathBuf};
use std::rc::Rc;

use hound::{SampleFormat, WavSpec, WavWriter};
use jumpseat_core::segmenter::Segment;

use crate::card::AUDIO_FORMAT;
use crate::error::RecorderError;
use crate::storage::{Storage, StoredFile};

const SPEC: WavSpec = WavSpec {
    channels: AUDIO_FORMAT.channels,
    sample_rate: AUDIO_FORMAT.sample_rate,
    bits_per_sample: AUDIO_FORMAT.bits,
    sample_format: SampleFormat::Int,
};

/// hound keeps its writer to itself, and the file must be synced from outside.
#[derive(Clone)]
struct Shared(Rc<RefCell<Box<dyn StoredFile>>>);

impl Write for Shared {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.borrow_mut().write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.0.borrow_mut().flush()
    }
}

impl Seek for Shared {
    fn seek(&mut self, position: io::SeekFrom) -> io::Result<u64> {
        self.0.borrow_mut().seek(position)
    }
}

/// A WAV file whose header is right whenever it was synced.
pub(crate) struct SegmentFile {
    writer: WavWriter<Shared>,
    file: Shared,
    path: PathBuf,
    /// Not handed to the system yet: few large writes cost a small board less.
    pending: Vec<i16>,
    unsynced: bool,
}

/// Half a second.
const PENDING: usize = 8_000;

impl SegmentFile {
    /// Creates the file; its name is durable when this returns.
    pub(crate) fn create(
        storage: &mut dyn Storage,
        audio_dir: &Path,
        segment: Segment,
    ) -> Result<Self, RecorderError> {
        let name = format!("{:06}-{}.wav", segment.number, segment.direction.word());
        let path = audio_dir.join(name);
        let file = storage
            .create(&path)
            .map_err(|source| RecorderError::io("create", &path, source))?;
        let file = Shared(Rc::new(RefCell::new(file)));
        let writer = match WavWriter::new(file.clone(), SPEC) {
            Ok(writer) => writer,
            Err(error) => {
                // An empty file is no audio; if it cannot even be removed, a
                // reader passes over it, because no record names it.
                let _stays = storage.remove(&path);
                return Err(sound_error(&path, error));
            }
        };
        storage
            .sync_dir(audio_dir)
            .map_err(|source| RecorderError::io("sync the folder", audio_dir, source))?;
        Ok(Self {
            writer,
            file,
            path,
            pending: Vec::with_capacity(PENDING + 256),
            unsynced: true,
        })
    }

    /// Takes samples; they reach the system within half a second, and the card
    /// with the next sync.
    pub(crate) fn write(&mut self, samples: &[i16]) -> Result<(), RecorderError> {
        self.pending.extend_from_slice(samples);
        self.unsynced = true;
        if self.pending.len() < PENDING {
            return Ok(());
        }
        self.hand_over()
    }

    fn hand_over(&mut self) -> Result<(), RecorderError> {
        let count = u32::try_from(self.pending.len()).unwrap_or(u32::MAX);
        let mut run = self.writer.get_i16_writer(count);
        for sample in self.pending.drain(..) {
            run.write_sample(sample);
        }
        run.flush().map_err(|error| sound_error(&self.path, error))
    }

    /// Brings the header up to date and waits for the card.
    pub(crate) fn sync(&mut self) -> Result<(), RecorderError> {
        if !self.unsynced {
            return Ok(());
        }
        self.hand_over()?;
        self.writer
            .flush()
            .map_err(|error| sound_error(&self.path, error))?;
        self.file
            .0
            .borrow_mut()
            .sync()
            .map_err(|source| RecorderError::io("sync", &self.path, source))?;
        self.unsynced = false;
        Ok(())
    }
}

fn sound_error(path: &Path, error: hound::Error) -> RecorderError {
    let source = match error {
        hound::Error::IoError(source) => source,
        other => io::Error::other(other),
    };
    RecorderError::io("write", path, source)
}
