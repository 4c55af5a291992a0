//! Sound into ALSA without a server: its `file` plugin reads a named pipe.

use std::fs;
use std::io::{ErrorKind, Write as _};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use rustix::fs::{OFlags, fcntl_setfl};

use super::PartError;
use super::feed::make_fifo;
use crate::sound::RATE;

/// A pipe that ALSA shows as a capture device of 16 kHz and two channels.
///
/// Once fed it is fed until it is dropped, with silence after the sound: a
/// reader of an empty pipe would hang.
#[derive(Debug)]
pub struct SoundFifo {
    folder: PathBuf,
    ended: Arc<AtomicBool>,
    feeder: Option<JoinHandle<Result<(), PartError>>>,
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
        make_fifo(&path)?;
        Ok(Self {
            folder: folder.to_owned(),
            ended: Arc::default(),
            feeder: None,
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

    /// Writes frames in real time, the first at `start`; silence before and after.
    pub fn feed(&mut self, start: Instant, frames: Vec<[i16; 2]>) -> Result<(), PartError> {
        let path = self.folder.join("sound.fifo");
        let pipe = make_fifo(&path)?;
        // A reader that is gone leaves a full pipe, which must not hold us up.
        fcntl_setfl(&pipe, OFlags::NONBLOCK)
            .map_err(|error| PartError::file(&path)(error.into()))?;
        let ended = Arc::clone(&self.ended);
        self.feeder = Some(std::thread::spawn(move || {
            write(pipe, start, &frames, &ended).map_err(PartError::file(&path))
        }));
        Ok(())
    }
}

impl Drop for SoundFifo {
    fn drop(&mut self) {
        self.ended.store(true, Ordering::Relaxed);
        if let Some(feeder) = self.feeder.take() {
            // What it could not write was missed by the test already.
            let _ = feeder.join();
        }
    }
}

fn write(
    mut pipe: fs::File,
    start: Instant,
    frames: &[[i16; 2]],
    ended: &AtomicBool,
) -> std::io::Result<()> {
    let period_s = PERIOD as f64 / f64::from(RATE);
    let lead = start
        .saturating_duration_since(Instant::now())
        .as_secs_f64()
        / period_s;
    let mut block_number = -(lead as i64);
    while !ended.load(Ordering::Relaxed) {
        let first = usize::try_from(block_number).map(|number| number * PERIOD);
        let frame = |index| {
            first
                .ok()
                .and_then(|first| frames.get(first + index).copied())
                .unwrap_or_default()
        };
        let block: Vec<u8> = (0..PERIOD)
            .flat_map(frame)
            .flat_map(i16::to_le_bytes)
            .collect();
        block_number += 1;
        // A block is due when its last frame has been heard.
        let due = if block_number >= 0 {
            start + Duration::from_secs_f64(block_number as f64 * period_s)
        } else {
            start - Duration::from_secs_f64(-block_number as f64 * period_s)
        };
        std::thread::sleep(due.saturating_duration_since(Instant::now()));
        let mut rest = &block[..];
        while !rest.is_empty() && !ended.load(Ordering::Relaxed) {
            match pipe.write(rest) {
                Ok(written) => rest = &rest[written..],
                Err(error) if error.kind() == ErrorKind::WouldBlock => {
                    std::thread::sleep(Duration::from_millis(2));
                }
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
    }
    Ok(())
}
