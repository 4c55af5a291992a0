//! Counts the bytes of a pull and reports how far it is.

use std::cell::Cell;
use std::time::{Duration, Instant};

use crate::error::PullError;
use crate::event::{PullEvent, PullListener};

/// Time between two [`PullEvent::Progress`].
const PROGRESS_EVERY: Duration = Duration::from_millis(500);

/// A running pull, as its listener sees it.
pub(crate) struct PullProgress<'a> {
    listener: &'a dyn PullListener,
    total: u64,
    done: Cell<u64>,
    begun: Instant,
    reported: Cell<Instant>,
}

impl<'a> PullProgress<'a> {
    pub(crate) fn new(total: u64, listener: &'a dyn PullListener) -> Self {
        let now = Instant::now();
        Self {
            listener,
            total,
            done: Cell::new(0),
            begun: now,
            reported: Cell::new(now),
        }
    }

    /// Counts that many more bytes as done.
    pub(crate) fn add(&self, bytes: u64) {
        self.listener.advance(bytes);
        self.done.set(self.done.get().saturating_add(bytes));
    }

    /// Reports how far the pull is, if the last report is old enough.
    pub(crate) fn report_if_due(&self) -> Result<(), PullError> {
        if self.reported.get().elapsed() < PROGRESS_EVERY {
            return Ok(());
        }
        self.reported.set(Instant::now());
        let (done, seconds) = (self.done.get(), self.begun.elapsed().as_secs_f64());
        let rate = done as f64 / seconds;
        let left = self.total.saturating_sub(done) as f64 / rate;
        self.event(&PullEvent::Progress {
            done,
            of: self.total,
            // Both are no larger than what was counted in whole numbers.
            bytes_per_s: rate as u64,
            seconds_left: (rate >= 1.0).then_some(left as u64),
        })
    }

    pub(crate) fn event(&self, event: &PullEvent<'_>) -> Result<(), PullError> {
        self.listener.event(event).map_err(PullError::Listener)
    }
}
