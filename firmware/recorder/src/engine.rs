//! The middle of the recorder: every input passes through here in order, with its monotonic
//! time, on its way into the trip folder.

mod inputs;
mod polling;
mod record_limits;
mod saving;
mod space_thresholds;
mod start;

use std::path::PathBuf;

use jumpseat_core::debounce::DebouncedPin;
use jumpseat_core::journal::{FaultDetail, JournalEvent, RecorderFault, clip};
use jumpseat_core::level::InputLevelMeter;
use jumpseat_core::mark::MarkButton;
use jumpseat_core::sample_clock::ArrivalClock;
use jumpseat_core::segmenter::Segmenter;
use jumpseat_core::signal::OperatorSignal;

use crate::alarms::AlarmStates;
use crate::error::RecorderError;
use crate::line_pin::LinePin;
use crate::trip::TripWriter;
use record_limits::RecordRateLimits;
use space_thresholds::SpaceThresholds;

/// The values of the config that the engine needs.
#[derive(Debug, Clone)]
struct EngineThresholds {
    silence_dbfs: f32,
    silence_samples: u64,
    space: SpaceThresholds,
    time_due_ns: Option<u64>,
    latency_ns: u64,
}

/// Decides what is written. One engine writes one trip.
pub struct RecordingEngine {
    trip: TripWriter,
    segmenter: Segmenter,
    clock: ArrivalClock,
    meters: [InputLevelMeter; 2],
    quiet_samples: u64,
    ptt: DebouncedPin<LinePin>,
    mark: DebouncedPin<LinePin>,
    button: MarkButton,
    limits: RecordRateLimits,
    alarms: AlarmStates,
    thresholds: EngineThresholds,
    /// Key edges from before the first sample: down, and the time at which it is heard in
    /// the audio.
    early_edges: Vec<(bool, u64)>,
    requests: Vec<OperatorSignal>,
    dial_wanted: bool,
    last_audio_ns: u64,
    next_sync_ns: u64,
    next_space_ns: u64,
    next_retry_ns: u64,
    first_error: Option<RecorderError>,
    failing: bool,
}

impl RecordingEngine {
    /// The trip folder.
    pub fn dir(&self) -> PathBuf {
        self.trip.dir().to_owned()
    }

    /// The trip's number.
    pub const fn number(&self) -> u32 {
        self.trip.number()
    }

    /// What a person should check, since the last call: what was found when the trip began.
    pub fn take_doubts(&mut self) -> Vec<String> {
        self.trip.take_doubts()
    }

    /// Samples that have arrived, including lost ones.
    pub fn arrived(&self) -> u64 {
        self.segmenter.arrived()
    }

    /// How many samples would have arrived by `mono_ns` if none had been lost; `None`
    /// before the first.
    pub fn expected_at(&self, mono_ns: u64) -> Option<u64> {
        self.clock.sample_at(mono_ns)
    }

    /// When to check the lines again, if one is settling.
    pub fn deadline_ns(&self) -> Option<u64> {
        let lines = [
            self.ptt.deadline_ns(),
            self.mark.deadline_ns(),
            self.button.deadline_ns(),
        ];
        lines.into_iter().flatten().min()
    }

    /// Whether the settled key line is down.
    pub fn is_keyed(&self) -> bool {
        self.ptt.is_active()
    }

    /// Marks set so far and not withdrawn.
    pub const fn marks(&self) -> u32 {
        self.button.count()
    }

    /// Whether no samples have arrived for 2 s.
    pub const fn has_no_samples(&self) -> bool {
        self.alarms.no_samples
    }

    /// Whether samples arrive, and all that are to be kept reach the card.
    pub fn is_alive(&self) -> bool {
        self.arrived() > 0 && !self.alarms.no_samples && !self.failing
    }

    /// The current states for lamp and sounder, most urgent first.
    pub fn states(&self) -> Vec<OperatorSignal> {
        self.alarms.states()
    }

    /// Signals to give once, since the last call.
    pub fn take_requests(&mut self) -> Vec<OperatorSignal> {
        std::mem::take(&mut self.requests)
    }

    /// Whether the key moved since the last call, so that the dial is to be read now.
    pub const fn take_dial_request(&mut self) -> bool {
        std::mem::replace(&mut self.dial_wanted, false)
    }

    /// Records that something went wrong.
    pub fn fault(&mut self, fault: RecorderFault, detail: &str, at_ns: u64) {
        let detail: FaultDetail = clip(detail);
        self.trip
            .record(at_ns, JournalEvent::Fault { fault, detail });
    }

    /// Records that a fault is over.
    pub fn recovery(&mut self, fault: RecorderFault, detail: &str, at_ns: u64) {
        let detail: FaultDetail = clip(detail);
        self.trip
            .record(at_ns, JournalEvent::Recovery { fault, detail });
    }
}
