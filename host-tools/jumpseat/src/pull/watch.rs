//! How far a pull is, for a person and for scripts.

use std::cell::Cell;
use std::time::{Duration, Instant};

use anyhow::Result;
use serde::Serialize;

use super::MissingFile;
use crate::progress::ProgressLine;

/// Scripts are told how far it is so often.
const PROGRESS_EVERY: Duration = Duration::from_millis(500);

/// What happened, as a line of JSON for a script.
#[derive(Debug, Serialize)]
#[serde(tag = "event", rename_all = "snake_case")]
pub(crate) enum PullEvent<'a> {
    /// What the source holds.
    Found {
        source: &'a str,
        trips: usize,
        files: usize,
        bytes: u64,
    },
    /// How far it is; what was here already counts as done.
    Progress {
        done: u64,
        of: u64,
        bytes_per_s: u64,
        /// None until there is a rate.
        seconds_left: Option<u64>,
    },
    /// What became of a file: "copied", "here already", "differs" or "failed".
    File {
        trip: &'a str,
        file: &'a str,
        bytes: u64,
        result: &'a str,
        sha256: Option<&'a str>,
        /// Why it did not come.
        #[serde(skip_serializing_if = "Option::is_none")]
        error: Option<&'a str>,
    },
    /// What became of a trip.
    Trip {
        trip: &'a str,
        board: Option<&'a str>,
        operator: Option<&'a str>,
        copied: usize,
        bytes: u64,
        present: usize,
        doubts: &'a [String],
        notes: &'a [String],
    },
    /// All is done; the last line unless it failed.
    End {
        trips: usize,
        copied: usize,
        bytes: u64,
        seconds: f64,
        doubts: bool,
        /// Files that did not come; the next pull tries them again.
        failed: &'a [&'a MissingFile],
    },
    /// It failed; the last line.
    Failed { error: &'a str },
}

/// Who is told of each event.
pub(crate) type PullListener<'a> = &'a dyn Fn(&PullEvent<'_>) -> Result<()>;

/// A pull under way.
pub(super) struct PullProgress<'a> {
    progress: ProgressLine,
    tell: PullListener<'a>,
    of: u64,
    done: Cell<u64>,
    begun: Instant,
    told: Cell<Instant>,
}

impl<'a> PullProgress<'a> {
    pub(super) fn new(of: u64, tell: PullListener<'a>) -> Self {
        let now = Instant::now();
        Self {
            progress: ProgressLine::new("copying", of, true),
            tell,
            of,
            done: Cell::new(0),
            begun: now,
            told: Cell::new(now),
        }
    }

    /// So many bytes more are done.
    pub(super) fn add(&self, bytes: u64) {
        self.progress.add(bytes);
        self.done.set(self.done.get().saturating_add(bytes));
    }

    /// Says how far it is, when it is time.
    pub(super) fn tell(&self) -> Result<()> {
        if self.told.get().elapsed() < PROGRESS_EVERY {
            return Ok(());
        }
        self.told.set(Instant::now());
        let (done, seconds) = (self.done.get(), self.begun.elapsed().as_secs_f64());
        let rate = done as f64 / seconds;
        let left = self.of.saturating_sub(done) as f64 / rate;
        self.event(&PullEvent::Progress {
            done,
            of: self.of,
            // Both are no larger than what was counted in whole numbers.
            bytes_per_s: rate as u64,
            seconds_left: (rate >= 1.0).then_some(left as u64),
        })
    }

    pub(super) fn event(&self, event: &PullEvent<'_>) -> Result<()> {
        (self.tell)(event)
    }
}
