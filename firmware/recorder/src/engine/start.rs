//! Starts an engine: creates its trip folder and writes the first record.

use std::path::Path;

use jumpseat_core::journal::BootId;
use jumpseat_core::level::InputLevelMeter;
use jumpseat_core::mark::MarkButton;
use jumpseat_core::sample_clock::ArrivalClock;
use jumpseat_core::segmenter::{DEFAULT_HOLD, MAX_SEGMENT, Segmenter};

use super::polling::SYNC_EVERY_NS;
use super::record_limits::RecordRateLimits;
use super::space_thresholds::SpaceThresholds;
use super::{EngineThresholds, RecordingEngine};
use crate::alarms::AlarmStates;
use crate::board_identity::board_id;
use crate::config::RecorderConfig;
use crate::error::RecorderError;
use crate::line_pin;
use crate::storage::CardStorage;
use crate::trip::TripWriter;
use crate::trip_header::ConfiguredStation;

impl RecordingEngine {
    /// Creates the trip folder and writes the first record. `mono_ns` is now.
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
            next_retry_ns: mono_ns,
            first_error: None,
            failing: false,
        })
    }
}
