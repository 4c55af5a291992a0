//! Sound into ALSA without a server: its `file` plugin reads a named pipe.

use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

use super::PartError;
use super::feed::make_fifo;
use crate::sound::RATE;

/// A pipe that ALSA shows as a capture device of 16 kHz and two channels.
#[derive(Debug)]
pub struct SoundFifo {
    folder: PathBuf,
    pipe: fs::File,
}

/// Frames a write: 20 ms.
const PERIOD: usize = 320;

impl SoundFifo {
    /// Makes the pipe and ALSA's description of it in `folder`.
    pub fn make(folder: &Path) -> Result<Self, PartError> {
        fs::create_dir_all(folder).map_err(PartError::file(folder))?;
        let path = folder.join("sound.fifo");
        let asoundrc = folder.join(".asoundrc");
        let text = format!(
            "pcm.fifoin {{ type file slave.pcm {{ type null }} file /dev/null infile \"{}\" format raw \
             hint {{ show on description \"fifo\" }} }}\n",
            path.display()
        );
        fs::write(&asoundrc, text).map_err(PartError::file(&asoundrc))?;
        let pipe = make_fifo(&path)?;
        Ok(Self {
            folder: folder.to_owned(),
            pipe,
        })
    }

    /// ALSA's name of the pipe, for programs started [`Self::inside`].
    pub fn device(&self) -> &'static str {
        "fifoin"
    }

    /// Frames that a reader should take at a time.
    pub fn period(&self) -> usize {
        PERIOD
    }

    /// Lets a program find this pipe as a device.
    pub fn inside(&self, command: &mut Command) {
        command.env("HOME", &self.folder);
    }

    /// Writes frames in real time from `start` on; silence when they are at
    /// their end, until `until` holds.
    pub fn feed(
        &mut self,
        start: Instant,
        frames: &[[i16; 2]],
        until: &dyn Fn() -> bool,
    ) -> Result<(), PartError> {
        let path = self.folder.join("sound.fifo");
        let mut at = 0_usize;
        while !until() {
            let block: Vec<u8> = (at..at + PERIOD)
                .flat_map(|index| frames.get(index).copied().unwrap_or_default())
                .flat_map(i16::to_le_bytes)
                .collect();
            at += PERIOD;
            let due = start + Duration::from_secs_f64(at as f64 / f64::from(RATE));
            std::thread::sleep(due.saturating_duration_since(Instant::now()));
            self.pipe
                .write_all(&block)
                .map_err(PartError::file(&path))?;
        }
        Ok(())
    }
}
