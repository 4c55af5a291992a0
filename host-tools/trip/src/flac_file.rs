//! A person's own FLAC file, or one of a trip without its header.

use std::path::{Path, PathBuf};

use jumpseat_files::open_given_file;

use crate::TripError;
use crate::flac::{FlacStream, FlacTrouble};

/// A FLAC file of any length, read block by block. The blocks are its samples as 16 bits,
/// channels in turn; the last of them is an error when the file ends before its header
/// says, when something in between is missing, or when the header's checksum of the
/// sound is not that of what was read.
pub struct FlacFile {
    path: PathBuf,
    stream: FlacStream,
    ended: bool,
}

impl FlacFile {
    /// Opens a file and reads its header.
    ///
    /// # Errors
    /// It cannot be read, or is no FLAC file.
    pub fn open(path: &Path) -> Result<Self, TripError> {
        let stream = open_given_file(path)
            .map_err(|error| error.to_string())
            .and_then(|file| FlacStream::open(file, true))
            .map_err(|reason| TripError::Flac {
                path: path.to_owned(),
                reason,
            })?;
        Ok(Self {
            path: path.to_owned(),
            stream,
            ended: false,
        })
    }

    /// Samples per second.
    pub fn sample_rate(&self) -> u32 {
        self.stream.shape.sample_rate
    }

    /// How many channels it has.
    pub fn channels(&self) -> usize {
        self.stream.shape.channels
    }

    /// Samples of each channel as its header says; 0 when that does not know.
    pub fn declared(&self) -> u64 {
        self.stream.shape.declared
    }

    fn error_of(&self, trouble: FlacTrouble) -> TripError {
        let frames = self.stream.frames;
        let of = match self.stream.shape.declared {
            0 => String::new(),
            declared => format!(" of {declared}"),
        };
        TripError::Flac {
            path: self.path.clone(),
            reason: match trouble {
                FlacTrouble::Damaged => format!(
                    "it is damaged or cut after {frames}{of} samples; mend it or cut it there, then try again"
                ),
                FlacTrouble::Altered => "its sound is not what its checksum was made of; \
                     copy it again from where it came, or convert it to WAV if it sounds right"
                    .to_owned(),
                FlacTrouble::Unreadable(reason) => reason,
            },
        }
    }
}

impl Iterator for FlacFile {
    type Item = Result<Vec<i16>, TripError>;

    fn next(&mut self) -> Option<Self::Item> {
        if self.ended {
            return None;
        }
        let mut block = Vec::new();
        let next = self.stream.next(&mut block);
        self.ended = next != Ok(true);
        match next {
            Ok(true) => Some(Ok(block)),
            Ok(false) => None,
            Err(trouble) => Some(Err(self.error_of(trouble))),
        }
    }
}
