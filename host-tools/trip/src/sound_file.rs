//! Reads one sound file of a trip, WAV or FLAC: how much is in it, and its samples.

use std::fs::File;
use std::io::{self, BufReader, Read as _, Seek as _, SeekFrom};
use std::path::{Path, PathBuf};

use jumpseat_files::open_regular_file;

use crate::flac::{self, FlacStream, FlacTrouble};
use crate::wav::WAV_HEADER_BYTES;
use crate::{TripAudioFormat, TripError, wav};

/// Samples that are read at once.
const SOUND_BLOCK_SAMPLES: u64 = 1 << 16;

/// What the header of a sound file states, and what the file holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct SoundContent {
    /// How its own header says that it is to be read.
    pub form: TripAudioFormat,
    /// Samples that can be read, if they are of 16 bits.
    pub present: u64,
    /// Samples according to the file's own header.
    pub declared: u64,
}

/// Looks into a file. `Err` says in plain words why it is no sound file.
pub(crate) fn inspect(path: &Path) -> Result<SoundContent, String> {
    if is_flac(path) {
        let flac = flac::probe(path)?;
        let of_16 = |value: u64| u16::try_from(value).unwrap_or(u16::MAX);
        return Ok(SoundContent {
            form: TripAudioFormat {
                sample_rate: flac.sample_rate,
                bits: of_16(flac.bits.into()),
                channels: of_16(flac.channels as u64),
            },
            present: flac.declared,
            declared: flac.declared,
        });
    }
    let mut file = open_regular_file(path).map_err(|error| error.to_string())?;
    let wav = wav::probe(&mut file)?;
    Ok(SoundContent {
        form: TripAudioFormat {
            sample_rate: wav.sample_rate,
            bits: wav.bits,
            channels: wav.channels,
        },
        present: wav.present / 2,
        declared: wav.declared / 2,
    })
}

impl SoundContent {
    /// `Err` says in plain words why the file is not one of a trip with this audio.
    pub(crate) fn fits(&self, form: TripAudioFormat) -> Result<(), String> {
        let TripAudioFormat {
            sample_rate: rate,
            bits,
            channels,
        } = self.form;
        if self.form == form {
            Ok(())
        } else {
            Err(format!(
                "it holds {rate} Hz, {bits} bits, {channels} channels; the trip has {} Hz, {} bits, {}",
                form.sample_rate, form.bits, form.channels
            ))
        }
    }
}

/// Whether a WAV file is as long as the board's header and `count` samples: then its
/// sound is where it belongs, whatever has become of the header.
pub(crate) fn has_length_of(path: &Path, count: u64) -> bool {
    let length = open_regular_file(path).and_then(|file| Ok(file.metadata()?.len()));
    !is_flac(path)
        && length.is_ok_and(|length| length == WAV_HEADER_BYTES + count.saturating_mul(2))
}

/// Reads the first `count` samples of a WAV or FLAC file, distinguished by the ending
/// of its name; fewer when the file ends before. An error when it cannot be read or
/// is no sound file of a trip.
pub fn read(path: &Path, count: u64) -> Result<Vec<i16>, TripError> {
    read_from(path, 0, count, count)
}

/// Reads `count` samples from sample `from` on of a file that has `whole` samples.
pub(crate) fn read_from(
    path: &Path,
    from: u64,
    count: u64,
    whole: u64,
) -> Result<Vec<i16>, TripError> {
    let mut samples = Vec::new();
    for block in SoundBlocks::open_at(path, from, count, whole)? {
        samples.append(&mut block?);
    }
    Ok(samples)
}

/// Whether a file's name ends as FLAC files do.
pub fn is_flac(path: &Path) -> bool {
    path.extension()
        .is_some_and(|word| word.eq_ignore_ascii_case("flac"))
}

/// The samples of a sound file of a trip, block by block, so that memory does not grow
/// with the file. They end early where the file does, or where it is damaged.
pub struct SoundBlocks {
    path: PathBuf,
    source: SoundBlockSource,
    /// Samples to pass over before the first block.
    skip: u64,
    left: u64,
}

enum SoundBlockSource {
    Wav(BufReader<File>),
    Flac(Box<FlacStream>),
}

impl SoundBlocks {
    /// Opens a WAV or FLAC file, of which the first `count` samples are wanted.
    ///
    /// # Errors
    /// It cannot be read, or is no sound file of a trip.
    pub fn open(path: &Path, count: u64) -> Result<Self, TripError> {
        Self::open_at(path, 0, count, count)
    }

    fn open_at(path: &Path, from: u64, count: u64, whole: u64) -> Result<Self, TripError> {
        let io_error = |source: io::Error| TripError::Io {
            path: path.to_owned(),
            doing: "read the sound file",
            source,
        };
        let sound_error = |reason: String| TripError::Sound {
            path: path.to_owned(),
            reason,
        };
        let (source, skip) = if is_flac(path) {
            let file = open_regular_file(path).map_err(io_error)?;
            let stream = FlacStream::open(file, false).map_err(sound_error)?;
            (SoundBlockSource::Flac(Box::new(stream)), from)
        } else {
            let mut file = open_regular_file(path).map_err(io_error)?;
            let start = match wav::probe(&mut file) {
                Ok(wav) => wav.start,
                Err(_) if has_length_of(path, whole) => WAV_HEADER_BYTES,
                Err(reason) => return Err(sound_error(reason)),
            };
            let at = start.saturating_add(from.saturating_mul(2));
            file.seek(SeekFrom::Start(at)).map_err(io_error)?;
            (SoundBlockSource::Wav(BufReader::new(file)), 0)
        };
        Ok(Self {
            path: path.to_owned(),
            source,
            skip,
            left: count,
        })
    }

    fn next_block(&mut self) -> Result<Vec<i16>, TripError> {
        match &mut self.source {
            SoundBlockSource::Wav(file) => {
                let mut bytes = Vec::new();
                let most = self.left.min(SOUND_BLOCK_SAMPLES) * 2;
                file.take(most)
                    .read_to_end(&mut bytes)
                    .map_err(|source| TripError::Io {
                        path: self.path.clone(),
                        doing: "read the sound file",
                        source,
                    })?;
                let (pairs, _) = bytes.as_chunks::<2>();
                Ok(pairs.iter().map(|&pair| i16::from_le_bytes(pair)).collect())
            }
            SoundBlockSource::Flac(stream) => {
                let mut block = Vec::new();
                match stream.next(&mut block) {
                    Ok(true) => Ok(block),
                    // The caller compares the count.
                    Ok(false) | Err(FlacTrouble::Damaged | FlacTrouble::Altered) => Ok(Vec::new()),
                    Err(FlacTrouble::Unreadable(reason)) => Err(TripError::Sound {
                        path: self.path.clone(),
                        reason,
                    }),
                }
            }
        }
    }
}

impl Iterator for SoundBlocks {
    type Item = Result<Vec<i16>, TripError>;

    fn next(&mut self) -> Option<Self::Item> {
        while self.left > 0 {
            let mut block = match self.next_block() {
                Ok(block) if block.is_empty() => break,
                Ok(block) => block,
                Err(error) => {
                    self.left = 0;
                    return Some(Err(error));
                }
            };
            let length = block.len() as u64;
            let skipped = self.skip.min(length);
            self.skip -= skipped;
            // Both are within the block's length.
            block.drain(..skipped as usize);
            block.truncate(usize::try_from(self.left).unwrap_or(usize::MAX));
            self.left -= block.len() as u64;
            if !block.is_empty() {
                return Some(Ok(block));
            }
        }
        self.left = 0;
        None
    }
}
