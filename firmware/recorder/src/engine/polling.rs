//! What the engine does as time passes: it settles lines, syncs, checks the alarms, and ends
//! the trip.

use std::path::PathBuf;

use jumpseat_core::journal::{JournalEvent, RecorderFault, ShutdownReason};
use jumpseat_core::sample_clock::ClockPair;

use super::RecordingEngine;
use crate::alarms::NO_SAMPLES_AFTER_NS;
use crate::error::RecorderError;

/// Audio is synced this often.
pub(super) const SYNC_EVERY_NS: u64 = 1_000_000_000;
/// Free space is checked this often.
const SPACE_CHECK_EVERY_NS: u64 = 10_000_000_000;

/// After a failed write another file is tried at once, and then at this interval.
const RETRY_EVERY_NS: u64 = 5_000_000_000;

impl RecordingEngine {
    /// Does what is due at `now_ns`: settles lines, syncs, checks the alarms. Call it after
    /// every input and at least every 250 ms.
    pub fn poll(&mut self, now_ns: u64) {
        self.settle_lines(now_ns);
        self.withdraw_if_held(now_ns);
        let no_samples = now_ns.saturating_sub(self.last_audio_ns) > NO_SAMPLES_AFTER_NS;
        if no_samples && !self.alarms.no_samples {
            self.alarms.no_samples = true;
            self.fault(RecorderFault::NoSamples, "no samples for 2 s", now_ns);
        }
        if now_ns >= self.next_sync_ns {
            self.next_sync_ns = now_ns + SYNC_EVERY_NS;
            self.sync(now_ns);
        }
        if now_ns >= self.next_space_ns {
            self.next_space_ns = now_ns + SPACE_CHECK_EVERY_NS;
            self.check_space(now_ns);
        }
        if let Some(due_ns) = self.thresholds.time_due_ns {
            self.alarms.no_time = now_ns >= due_ns;
        }
    }

    /// Completes the trip: closes the segment, records the reason, syncs.
    ///
    /// # Errors
    /// The first error of the card in the whole trip, if there was one.
    pub fn finish(mut self, reason: ShutdownReason, now_ns: u64) -> Result<PathBuf, RecorderError> {
        self.settle_lines(now_ns);
        let (trip, clock) = (&mut self.trip, &self.clock);
        let at = |sample| clock.mono_at(sample).unwrap_or(now_ns);
        self.segmenter.finish(|step| trip.step(&step, at));
        trip.finish_audio(at);
        if let Some(ClockPair { mono_ns, sample }) = self.clock.pending() {
            self.trip.record(mono_ns, JournalEvent::Clock { sample });
        }
        self.write_levels(now_ns);
        self.trip
            .record_synced(now_ns, JournalEvent::Shutdown { reason });
        let dir = self.dir();
        let last = self.trip.take_error();
        match self.first_error.or(last) {
            Some(error) => Err(error),
            None => Ok(dir),
        }
    }

    fn sync(&mut self, now_ns: u64) {
        let (trip, clock) = (&mut self.trip, &self.clock);
        let at = |sample| clock.mono_at(sample).unwrap_or(now_ns);
        self.alarms.recording = trip.sync(at);
        if trip.is_failing() && now_ns >= self.next_retry_ns {
            self.next_retry_ns = now_ns + RETRY_EVERY_NS;
            trip.catch_up(at);
        }
        match self.trip.take_error() {
            Some(error) => {
                if !self.failing {
                    self.failing = true;
                    self.fault(RecorderFault::Storage, &error.to_string(), now_ns);
                }
                self.first_error.get_or_insert(error);
            }
            None if self.failing && !self.trip.is_failing() => {
                self.failing = false;
                self.recovery(
                    RecorderFault::Storage,
                    "the card can be written again",
                    now_ns,
                );
            }
            None => {}
        }
        self.alarms.card_failing = self.failing;
    }
}
