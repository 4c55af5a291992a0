//! Plays frames into the named pipe behind the ALSA device, in real time.

use std::fs::{File, OpenOptions};
use std::io::Write;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::thread::{JoinHandle, sleep, spawn};
use std::time::{Duration, Instant};

use rustix::fs::{CWD, FileType, Mode, mknodat};

/// Frames written at once, and the period that the recorder must ask for: the
/// device fills up a shorter read with garbage.
pub(crate) const PERIOD: usize = 320;

/// Frames being played.
pub(crate) struct Feeder {
    /// Keeps the pipe open, so that the device waits after the last frame.
    _pipe: File,
    fed: Arc<AtomicU64>,
    thread: JoinHandle<()>,
}

impl Feeder {
    /// Makes the pipe and begins to play. Start it before the recorder.
    pub(crate) fn start(pipe: &Path, rate: u32, frames: Vec<[i16; 2]>) -> Self {
        mknodat(CWD, pipe, FileType::Fifo, Mode::from_raw_mode(0o600), 0).unwrap();
        let open = || {
            OpenOptions::new()
                .read(true)
                .write(true)
                .open(pipe)
                .unwrap()
        };
        let mut out = open();
        let fed = Arc::new(AtomicU64::new(0));
        let count = Arc::clone(&fed);
        let thread = spawn(move || {
            let began = Instant::now();
            for period in frames.chunks_exact(PERIOD) {
                let due =
                    Duration::from_secs_f64(count.load(Ordering::Relaxed) as f64 / f64::from(rate));
                sleep(due.saturating_sub(began.elapsed()));
                let bytes: Vec<u8> = period
                    .iter()
                    .flatten()
                    .flat_map(|sample| sample.to_le_bytes())
                    .collect();
                out.write_all(&bytes).unwrap();
                count.fetch_add(PERIOD as u64, Ordering::Relaxed);
            }
        });
        Self {
            _pipe: open(),
            fed,
            thread,
        }
    }

    /// Frames written so far.
    pub(crate) fn fed(&self) -> u64 {
        self.fed.load(Ordering::Relaxed)
    }

    /// Waits until all are written.
    pub(crate) fn wait(&self) {
        while !self.thread.is_finished() {
            sleep(Duration::from_millis(10));
        }
    }
}

/// Frames that no fault could make up: a fixed sequence of pseudo-random values
/// (xorshift32), a whole number of periods.
pub(crate) fn noise(seconds: usize, rate: usize) -> Vec<[i16; 2]> {
    let mut state = 0x1234_5678_u32;
    let mut next = move || {
        state ^= state << 13;
        state ^= state >> 17;
        state ^= state << 5;
        (state >> 16) as i16
    };
    let count = seconds * rate / PERIOD * PERIOD;
    (0..count).map(|_| [next(), next()]).collect()
}
