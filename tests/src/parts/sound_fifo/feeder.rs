//! The thread that writes into the pipe.

use std::fs::File;
use std::io::{self, ErrorKind, Write as _};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::thread::{JoinHandle, sleep, spawn};
use std::time::{Duration, Instant};

use super::period::PERIOD;

/// How the sound is written.
#[derive(Debug, Clone, Copy)]
pub(super) struct FeedPace {
    /// Frames per second.
    pub(super) rate: u32,
    /// Nothing is written after the last frame.
    pub(super) sticks: bool,
}

/// The writing thread; it ends when this is dropped.
#[derive(Debug)]
pub(super) struct FifoFeeder {
    /// Keeps the pipe open, so that its reader waits after the last frame.
    _pipe: File,
    shared: Arc<FeederState>,
    thread: Option<JoinHandle<io::Result<()>>>,
}

#[derive(Debug, Default)]
struct FeederState {
    ended: AtomicBool,
    frames: AtomicU64,
}

impl FifoFeeder {
    /// Writes `frames` into the pipe, which must not block, the first at `start`.
    pub(super) fn start(
        pipe: File,
        pace: FeedPace,
        start: Instant,
        frames: Vec<[i16; 2]>,
    ) -> io::Result<Self> {
        let shared = Arc::<FeederState>::default();
        let writer = FifoWriter {
            pipe: pipe.try_clone()?,
            pace,
            shared: Arc::clone(&shared),
        };
        Ok(Self {
            _pipe: pipe,
            shared,
            thread: Some(spawn(move || writer.write(start, &frames))),
        })
    }

    /// Frames written since `start`.
    pub(super) fn fed(&self) -> u64 {
        self.shared.frames.load(Ordering::Relaxed)
    }

    /// Waits until everything is written.
    pub(super) fn wait(&self) {
        while self
            .thread
            .as_ref()
            .is_some_and(|thread| !thread.is_finished())
        {
            sleep(Duration::from_millis(10));
        }
    }
}

impl Drop for FifoFeeder {
    fn drop(&mut self) {
        self.shared.ended.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take() {
            // The test has missed already what it could not write.
            let _ = thread.join();
        }
    }
}

struct FifoWriter {
    pipe: File,
    pace: FeedPace,
    shared: Arc<FeederState>,
}

impl FifoWriter {
    fn write(&self, start: Instant, frames: &[[i16; 2]]) -> io::Result<()> {
        let period_s = PERIOD as f64 / f64::from(self.pace.rate);
        let lead = start
            .saturating_duration_since(Instant::now())
            .as_secs_f64()
            / period_s;
        let mut block_number = -(lead as i64);
        while !self.ended() {
            let first = usize::try_from(block_number).map(|number| number * PERIOD);
            if self.pace.sticks && first.is_ok_and(|first| first >= frames.len()) {
                return Ok(());
            }
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
            // A block is due at the time of its last frame.
            let due = if block_number >= 0 {
                start + Duration::from_secs_f64(block_number as f64 * period_s)
            } else {
                start - Duration::from_secs_f64(-block_number as f64 * period_s)
            };
            sleep(due.saturating_duration_since(Instant::now()));
            self.write_block(&block)?;
            if first.is_ok() {
                let frames = &self.shared.frames;
                frames.fetch_add(PERIOD as u64, Ordering::Relaxed);
            }
        }
        Ok(())
    }

    fn write_block(&self, mut rest: &[u8]) -> io::Result<()> {
        while !rest.is_empty() && !self.ended() {
            match (&self.pipe).write(rest) {
                Ok(written) => rest = &rest[written..],
                Err(error) if error.kind() == ErrorKind::WouldBlock => {
                    sleep(Duration::from_millis(2));
                }
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
        Ok(())
    }

    fn ended(&self) -> bool {
        self.shared.ended.load(Ordering::Relaxed)
    }
}
