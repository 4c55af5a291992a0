//! Sound into ALSA without a server: its `file` plugin reads a named pipe.

mod feeder;
mod period;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

use jumpseat_test_kit::PartError;
use rustix::fs::{OFlags, fcntl_setfl};

use self::feeder::{FeedPace, FifoFeeder};
use self::period::PERIOD;
use super::feed::open_fifo;
use jumpseat_simulator::sound::SCRIPT_SAMPLE_RATE;

/// A pipe that ALSA shows as a capture device of two channels.
///
/// Once fed it is fed until it is dropped, with silence after the sound: a reader of an
/// empty pipe hangs, as with a device that is stuck.
#[derive(Debug)]
pub struct SoundFifo {
    folder: PathBuf,
    pace: FeedPace,
    feeder: Option<FifoFeeder>,
}

impl SoundFifo {
    /// Creates the pipe and ALSA's description of it in `folder`.
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
        open_fifo(&path)?;
        Ok(Self {
            folder: folder.to_owned(),
            pace: FeedPace {
                rate: SCRIPT_SAMPLE_RATE,
                sticks: false,
            },
            feeder: None,
        })
    }

    /// The same at another rate than 16 kHz.
    pub fn at_rate(mut self, rate: u32) -> Self {
        self.pace.rate = rate;
        self
    }

    /// The same, but stuck after its last frame, in place of silence.
    pub fn sticking(mut self) -> Self {
        self.pace.sticks = true;
        self
    }

    /// ALSA's name of the pipe, for programs started [`Self::inside`].
    pub fn device(&self) -> &'static str {
        "fifoin"
    }

    /// Frames per second.
    pub fn rate(&self) -> u32 {
        self.pace.rate
    }

    /// Frames that a reader must take at a time: ALSA fills a shorter read with garbage.
    pub fn period(&self) -> usize {
        PERIOD
    }

    /// Lets a program find this pipe as a device.
    pub fn inside(&self, command: &mut Command) {
        command.env("HOME", &self.folder);
    }

    /// Writes frames in real time, the first at `start`; silence before and, unless it
    /// sticks, after.
    pub fn feed(&mut self, start: Instant, frames: Vec<[i16; 2]>) -> Result<(), PartError> {
        let path = self.folder.join("sound.fifo");
        let pipe = open_fifo(&path)?;
        // A reader that is gone leaves a full pipe, which must not block the test.
        fcntl_setfl(&pipe, OFlags::NONBLOCK)
            .map_err(|error| PartError::file(&path)(error.into()))?;
        let feeder = FifoFeeder::start(pipe, self.pace, start, frames);
        self.feeder = Some(feeder.map_err(PartError::file(&path))?);
        Ok(())
    }

    /// Frames written since `start`.
    pub fn fed(&self) -> u64 {
        self.feeder.as_ref().map_or(0, FifoFeeder::fed)
    }

    /// Waits until the last frame is written, if it sticks after that.
    pub fn wait(&self) {
        self.feeder.iter().for_each(FifoFeeder::wait);
    }
}
