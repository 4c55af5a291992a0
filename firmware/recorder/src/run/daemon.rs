//! The state of the daemon, and its start.

use std::path::PathBuf;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;
use std::time::Duration;

use jumpseat_core::journal::{BootId, RecorderFault};
use jumpseat_core::signal::OperatorSignal;

use super::begin_trip::begin_trip;
use super::card_upkeep::CardUpkeep;
use super::vehicle::VehiclePower;
use crate::board_identity;
use crate::config::RecorderConfig;
use crate::device_message::DeviceMessage;
use crate::dial::{self, DialHandle};
use crate::engine::RecordingEngine;
use crate::error::RecorderError;
use crate::service_notifier::ServiceNotifier;
use crate::signals::SignalPlayer;
use crate::sound::device_supervisor::DeviceSupervisor;
use crate::sound::{SoundDevice, SoundIntake, sound_queue};
use crate::{gps, lines, monotonic, system_clock};

/// A device that delivers no samples is opened again this often.
pub(super) const REOPEN_EVERY_NS: u64 = 5_000_000_000;
/// Time to sound why the recording cannot begin.
const START_FAILURE_SIGNAL_TIME: Duration = Duration::from_millis(2_500);

/// The daemon's state: the engine of the current trip, and the handles to all threads.
pub(super) struct RecorderDaemon {
    pub(super) config: RecorderConfig,
    pub(super) boot: BootId,
    /// `None` while the ignition is off.
    pub(super) engine: Option<RecordingEngine>,
    pub(super) dir: PathBuf,
    pub(super) intake: SoundIntake,
    pub(super) device_supervisor: DeviceSupervisor,
    pub(super) signals: SignalPlayer,
    pub(super) vehicle: VehiclePower,
    pub(super) card_upkeep: CardUpkeep,
    pub(super) dial: DialHandle,
    pub(super) service_notifier: ServiceNotifier,
    pub(super) arrivals: Sender<DeviceMessage>,
    pub(super) inbox: Receiver<DeviceMessage>,
    /// A device that fails before it ever worked ends the recording.
    pub(super) strict: bool,
    pub(super) worked: Vec<RecorderFault>,
    pub(super) sound_missing: bool,
    pub(super) reopen_ns: u64,
    /// The time up to which everything that arrived was taken. A slow card may block the
    /// main loop for seconds anywhere; what arrives meanwhile is left for the next round.
    pub(super) known_ns: u64,
}

impl RecorderDaemon {
    /// Starts the device threads and begins the first trip.
    pub(super) fn start(
        config: &RecorderConfig,
        device: Box<dyn SoundDevice>,
        strict: bool,
    ) -> Result<Self, RecorderError> {
        let (arrivals, inbox) = channel();
        let (factory, consumer) = sound_queue();
        // The sound first, because a sound card takes longest to open.
        let device_supervisor = DeviceSupervisor::start(device, factory, arrivals.clone())?;
        let signals = SignalPlayer::start(&config.lines, &arrivals)?;
        let boot = board_identity::boot_id()?;
        let engine = begin_trip(config, &boot, &arrivals).inspect_err(|_| {
            // The self-test must sound, because nobody reads a log in a car.
            signals.play_once(OperatorSignal::CardNearlyFull);
            if config.lines.sounder.is_some() {
                thread::sleep(START_FAILURE_SIGNAL_TIME);
            }
        })?;
        lines::start(&config.lines, &arrivals)?;
        gps::start(&config.gps, &arrivals)?;
        system_clock::start(&arrivals)?;
        let dial = dial::start(&config.dial, &arrivals)?;
        let service_notifier = ServiceNotifier::from_environment().map_err(|error| {
            RecorderError::Device(format!(
                "cannot notify the service manager: {error}; check NOTIFY_SOCKET"
            ))
        })?;
        let floor = config.card.nearly_full_mib.saturating_mul(1 << 20);
        Ok(Self {
            dir: engine.dir(),
            engine: Some(engine),
            intake: SoundIntake::new(consumer, config.sound.rx == config.sound.tx),
            device_supervisor,
            signals,
            vehicle: VehiclePower::new(config),
            card_upkeep: CardUpkeep::start(config.card.dir.clone(), floor, arrivals.clone())?,
            dial,
            service_notifier,
            arrivals,
            inbox,
            strict,
            worked: Vec::new(),
            sound_missing: false,
            reopen_ns: monotonic::now_ns() + REOPEN_EVERY_NS,
            known_ns: monotonic::now_ns(),
            config: config.clone(),
            boot,
        })
    }
}
