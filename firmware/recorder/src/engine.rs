//! The middle of the recorder: every input passes through here in order, with its monotonic
//! time, on its way into the trip folder.

mod inputs;
pub(crate) mod line_pin;
mod record_limits;
mod space;

use std::path::{Path, PathBuf};

use jumpseat_core::debounce::DebouncedPin;
use jumpseat_core::journal::{
    BootId, FaultDetail, JournalEvent, RecorderFault, ShutdownReason, clip,
};
use jumpseat_core::level::InputLevelMeter;
use jumpseat_core::mark::MarkButton;
use jumpseat_core::sample_clock::{ArrivalClock, ClockPair};
use jumpseat_core::segmenter::{DEFAULT_HOLD, MAX_SEGMENT, Segmenter};
use jumpseat_core::signal::OperatorSignal;

pub use inputs::RigReading;
pub use line_pin::InputLine;

use crate::alarms::{AlarmStates, NO_SAMPLES_AFTER_NS};
use crate::card::{ConfiguredStation, board_id};
use crate::config::RecorderConfig;
use crate::error::RecorderError;
use crate::storage::CardStorage;
use crate::trip::TripWriter;
use line_pin::LinePin;
use record_limits::RecordRateLimits;
use space::SpaceThresholds;

/// Audio is synced this often.
const SYNC_EVERY_NS: u64 = 1_000_000_000;
/// Free space is checked this often.
const SPACE_CHECK_EVERY_NS: u64 = 10_000_000_000;

/// After a failed write another file is tried at once, and then at this interval.
const RETRY_EVERY_NS: u64 = 5_000_000_000;

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
    next_try_ns: u64,
    first_trouble: Option<RecorderError>,
    failing: bool,
}

impl RecordingEngine {
    /// Makes the trip folder and writes the first record. `mono_ns` is now.
    ///
    /// # Errors
    /// When the card cannot be written, or there is no board id.
    pub fn start(
        storage: Box<dyn CardStorage>,
        card: &Path,
        config: &RecorderConfig,
        boot: BootId,
        mono_ns: u64,
    ) -> Result<Self, RecorderError> {
        Self::start_after(storage, card, config, boot, mono_ns, None)
    }

    /// The same, with a trip number above `last`, which was kept outside the card.
    ///
    /// # Errors
    /// When the card cannot be written, or there is no board id.
    pub fn start_after(
        storage: Box<dyn CardStorage>,
        card: &Path,
        config: &RecorderConfig,
        boot: BootId,
        mono_ns: u64,
        last: Option<u32>,
    ) -> Result<Self, RecorderError> {
        let station = ConfiguredStation {
            call: config.station.call.clone(),
            operator: config.station.operator.clone(),
        };
        let board = board_id(config)?;
        let mut trip = TripWriter::create(storage, card, &board, boot, station, last)?;
        trip.begin(mono_ns);
        let settle_ns = u64::from(config.lines.debounce_ms) * 1_000_000;
        let alarm_after_s = u64::from(config.gps.alarm_after_s);
        let time_due = config.gps.is_some() && alarm_after_s > 0;
        Ok(Self {
            trip,
            segmenter: Segmenter::new(false, DEFAULT_HOLD, MAX_SEGMENT),
            clock: ArrivalClock::new(),
            meters: [InputLevelMeter::new(), InputLevelMeter::new()],
            quiet_samples: 0,
            ptt: line_pin::debounced(false, settle_ns),
            mark: line_pin::debounced(false, settle_ns),
            button: MarkButton::new(),
            limits: RecordRateLimits::new(mono_ns),
            alarms: AlarmStates::default(),
            thresholds: EngineThresholds {
                silence_dbfs: config.sound.silence_dbfs,
                silence_samples: u64::from(config.sound.silence_after_s)
                    * u64::from(jumpseat_core::SAMPLE_RATE),
                space: SpaceThresholds::from_config(&config.card),
                time_due_ns: time_due.then(|| mono_ns + alarm_after_s * 1_000_000_000),
                latency_ns: u64::from(config.sound.latency_ms) * 1_000_000,
            },
            early_edges: Vec::new(),
            requests: Vec::new(),
            dial_wanted: false,
            last_audio_ns: mono_ns,
            next_sync_ns: mono_ns + SYNC_EVERY_NS,
            next_space_ns: mono_ns,
            next_try_ns: mono_ns,
            first_trouble: None,
            failing: false,
        })
    }

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
            self.look_at_space(now_ns);
        }
        if let Some(due_ns) = self.thresholds.time_due_ns {
            self.alarms.no_time = now_ns >= due_ns;
        }
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

    /// The settled key line is down.
    pub fn is_keyed(&self) -> bool {
        self.ptt.is_active()
    }

    /// Marks set so far and not withdrawn.
    pub const fn marks(&self) -> u32 {
        self.button.count()
    }

    /// No samples have arrived for 2 s.
    pub const fn has_no_samples(&self) -> bool {
        self.alarms.no_samples
    }

    /// Samples arrive, and all that are to be kept reach the card.
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

    /// A fault is over.
    pub fn recovery(&mut self, fault: RecorderFault, detail: &str, at_ns: u64) {
        let detail: FaultDetail = clip(detail);
        self.trip
            .record(at_ns, JournalEvent::Recovery { fault, detail });
    }

    /// Completes the trip: closes the segment, records the reason, syncs.
    ///
    /// # Errors The first error of the card in the whole trip, if there was one.
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
        let last = self.trip.take_trouble();
        match self.first_trouble.or(last) {
            Some(trouble) => Err(trouble),
            None => Ok(dir),
        }
    }

    fn sync(&mut self, now_ns: u64) {
        let (trip, clock) = (&mut self.trip, &self.clock);
        let at = |sample| clock.mono_at(sample).unwrap_or(now_ns);
        self.alarms.recording = trip.sync(at);
        if trip.is_failing() && now_ns >= self.next_try_ns {
            self.next_try_ns = now_ns + RETRY_EVERY_NS;
            trip.catch_up(at);
        }
        match self.trip.take_trouble() {
            Some(trouble) => {
                if !self.failing {
                    self.failing = true;
                    self.fault(RecorderFault::Storage, &trouble.to_string(), now_ns);
                }
                self.first_trouble.get_or_insert(trouble);
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

#[cfg(test)]
mod tests;
