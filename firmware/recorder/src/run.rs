//! The daemon: starts the device threads, and feeds the engine with their messages until it
//! is asked to stop.

mod card_upkeep;
mod last_trip;
mod trips;
mod vehicle;

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;
use std::time::Duration;

use jumpseat_core::journal::{BootId, RecorderFault, ShutdownReason};
use jumpseat_core::signal::OperatorSignal;

use crate::card;
use crate::config::RecorderConfig;
use crate::device_message::DeviceMessage;
use crate::dial::{self, DialHandle};
use crate::engine::{InputLine, RecordingEngine};
use crate::error::RecorderError;
use crate::service_notifier::ServiceNotifier;
use crate::signals::SignalPlayer;
use crate::sound::device_supervisor::DeviceSupervisor;
use crate::sound::{SoundDevice, SoundIntake, sound_queue};
use crate::{gps, lines, monotonic, system_clock};
use card_upkeep::CardUpkeep;
use trips::begin_trip;
pub use vehicle::PULL_LEASE_FILE;
use vehicle::VehiclePower;

/// Samples are taken out of the queue at least this often, long before it is full. Every
/// wake-up costs more than the samples that it finds. Any other message, and a line that
/// settles, is handled at once.
const TICK_INTERVAL: Duration = Duration::from_millis(250);
/// A device that delivers no samples is opened again this often.
const REOPEN_EVERY_NS: u64 = 5_000_000_000;
/// Time to sound why the recording cannot begin.
const START_FAILURE_SIGNAL_TIME: Duration = Duration::from_millis(2_500);

/// Records until `stop` is set. `notice` takes messages for the system's log. Recording
/// does not wait for any device; with `strict`, or when the config says so, a device that
/// fails at its first attempt ends it instead.
///
/// # Errors [`RecorderError::Io`] when the card cannot be written,
/// [`RecorderError::Device`] for a device that failed and is not waited for. The trip
/// recorded until then is complete.
pub fn run(
    config: &RecorderConfig,
    device: Box<dyn SoundDevice>,
    strict: bool,
    stop: &Arc<AtomicBool>,
    notice: &mut dyn FnMut(&str),
) -> Result<PathBuf, RecorderError> {
    let mut daemon = RecorderDaemon::start(config, device, strict || !config.wait_for_devices)?;
    daemon.tell_start(notice);
    let ended = daemon.serve(stop, notice);
    let dir = daemon.finish()?;
    ended.map(|()| dir)
}

struct RecorderDaemon {
    config: RecorderConfig,
    boot: BootId,
    /// `None` while the ignition is off.
    engine: Option<RecordingEngine>,
    dir: PathBuf,
    intake: SoundIntake,
    keeper: DeviceSupervisor,
    signals: SignalPlayer,
    vehicle: VehiclePower,
    room: CardUpkeep,
    dial: DialHandle,
    supervisor: ServiceNotifier,
    arrivals: Sender<DeviceMessage>,
    inbox: Receiver<DeviceMessage>,
    /// A device that fails before it ever worked ends the recording.
    strict: bool,
    worked: Vec<RecorderFault>,
    sound_missing: bool,
    reopen_ns: u64,
    /// The time up to which everything that arrived was taken. A slow card may block the
    /// main loop for seconds anywhere; what arrives meanwhile is left for the next round.
    known_ns: u64,
}

impl RecorderDaemon {
    fn start(
        config: &RecorderConfig,
        device: Box<dyn SoundDevice>,
        strict: bool,
    ) -> Result<Self, RecorderError> {
        let (arrivals, inbox) = channel();
        let (kit, consumer) = sound_queue();
        // The sound first, because a sound card takes longest to open.
        let keeper = DeviceSupervisor::start(device, kit, arrivals.clone())?;
        let signals = SignalPlayer::start(&config.lines, &arrivals)?;
        let boot = card::boot_id()?;
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
        let supervisor = ServiceNotifier::from_environment().map_err(|error| {
            RecorderError::Device(format!(
                "cannot notify the service manager: {error}; check NOTIFY_SOCKET"
            ))
        })?;
        let floor = config.card.nearly_full_mib.saturating_mul(1 << 20);
        Ok(Self {
            dir: engine.dir(),
            engine: Some(engine),
            intake: SoundIntake::new(consumer, config.sound.rx == config.sound.tx),
            keeper,
            signals,
            vehicle: VehiclePower::new(config),
            room: CardUpkeep::start(config.card.dir.clone(), floor, arrivals.clone())?,
            dial,
            supervisor,
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

    fn tell_start(&mut self, notice: &mut dyn FnMut(&str)) {
        notice(&format!("recording into {}", self.dir.display()));
        self.supervisor.ready();
    }

    fn serve(
        &mut self,
        stop: &AtomicBool,
        notice: &mut dyn FnMut(&str),
    ) -> Result<(), RecorderError> {
        while !stop.load(Ordering::Relaxed) {
            let first = self.inbox.recv_timeout(self.wait()).ok();
            self.take_all(first, notice)?;
            self.work()?;
            if let Some(action) = self.vehicle.poll(self.known_ns) {
                self.act(action, self.known_ns, notice)?;
            }
            self.reopen_when_silent();
            self.signal(notice);
            self.beat();
        }
        self.take_all(None, notice)
    }

    /// Takes everything that has arrived by now except the sound.
    fn take_all(
        &mut self,
        first: Option<DeviceMessage>,
        notice: &mut dyn FnMut(&str),
    ) -> Result<(), RecorderError> {
        self.known_ns = monotonic::now_ns();
        let mut next = first.or_else(|| self.inbox.try_recv().ok());
        while let Some(arrival) = next {
            self.take(arrival, notice)?;
            // Each may block on the card, and a slow recorder is not a hung one.
            self.beat();
            next = self.inbox.try_recv().ok();
        }
        Ok(())
    }

    /// Passes the samples to the engine and does what is due.
    fn work(&mut self) -> Result<(), RecorderError> {
        let known_ns = self.known_ns;
        let Some(engine) = &mut self.engine else {
            self.intake.discard(known_ns);
            return Ok(());
        };
        engine.settle_lines(known_ns);
        if self.intake.drain(engine, known_ns)? {
            self.keeper.reopen();
        }
        engine.poll(known_ns);
        if engine.take_dial_request() {
            self.dial.read_now();
        }
        let current = self.dir.file_name().unwrap_or_default();
        self.room.look(&current.to_string_lossy(), known_ns);
        Ok(())
    }

    /// Time to the next tick, or until a line may have settled.
    fn wait(&self) -> Duration {
        let now_ns = monotonic::now_ns();
        let engine = self.engine.as_ref().and_then(RecordingEngine::deadline_ns);
        let due_ns = engine.into_iter().chain(self.vehicle.deadline_ns()).min();
        due_ns.map_or(TICK_INTERVAL, |due_ns| {
            TICK_INTERVAL.min(Duration::from_nanos(due_ns.saturating_sub(now_ns)))
        })
    }

    fn take(
        &mut self,
        arrival: DeviceMessage,
        notice: &mut dyn FnMut(&str),
    ) -> Result<(), RecorderError> {
        if let DeviceMessage::Line {
            line: line @ (InputLine::Ignition | InputLine::LowSupply),
            active,
            at_ns,
        } = arrival
        {
            return match self.vehicle.line(line, active, at_ns) {
                Some(action) => self.act(action, at_ns, notice),
                None => Ok(()),
            };
        }
        if let DeviceMessage::Fault { detail, .. }
        | DeviceMessage::Working { detail, .. }
        | DeviceMessage::Notice { detail, .. } = &arrival
        {
            notice(detail);
        }
        self.remember(&arrival)?;
        let Some(engine) = &mut self.engine else {
            return Ok(());
        };
        match arrival {
            DeviceMessage::Line {
                line,
                active,
                at_ns,
            } => engine.line(line, active, at_ns),
            DeviceMessage::Gps { events, at_ns } => engine.gps(events, at_ns),
            DeviceMessage::Dial { setting, at_ns } => engine.dial(setting, at_ns),
            DeviceMessage::Working {
                fault,
                detail,
                at_ns,
                again,
            } => {
                if fault == RecorderFault::Dial {
                    engine.dial_connected();
                }
                if again {
                    engine.recovery(fault, &detail, at_ns);
                }
            }
            DeviceMessage::Notice {
                fault,
                detail,
                at_ns,
            } => engine.recovery(fault, &detail, at_ns),
            DeviceMessage::Fault {
                fault,
                detail,
                at_ns,
            } => engine.fault(fault, &detail, at_ns),
        }
        Ok(())
    }

    /// Notes which devices work and which never did.
    fn remember(&mut self, arrival: &DeviceMessage) -> Result<(), RecorderError> {
        match arrival {
            DeviceMessage::Working { fault, .. } => {
                self.worked.push(*fault);
                self.sound_missing &= *fault != RecorderFault::Sound;
            }
            DeviceMessage::Fault { fault, detail, .. } => {
                self.sound_missing |= *fault == RecorderFault::Sound;
                // It is normal for a rig to be switched off.
                let wanted = *fault != RecorderFault::Dial;
                if self.strict && wanted && !self.worked.contains(fault) {
                    return Err(RecorderError::Device(detail.clone()));
                }
            }
            _ => {}
        }
        Ok(())
    }

    fn reopen_when_silent(&mut self) {
        let now_ns = self.known_ns;
        if !self
            .engine
            .as_ref()
            .is_some_and(RecordingEngine::has_no_samples)
        {
            self.reopen_ns = now_ns + REOPEN_EVERY_NS;
        } else if now_ns >= self.reopen_ns {
            self.reopen_ns = now_ns + REOPEN_EVERY_NS;
            self.keeper.reopen();
        }
    }

    fn signal(&mut self, notice: &mut dyn FnMut(&str)) {
        let states = match &mut self.engine {
            Some(engine) => {
                for signal in engine.take_requests() {
                    self.signals.play_once(signal);
                    notice(signal.pattern().meaning);
                }
                engine.states()
            }
            None => vec![OperatorSignal::Parked],
        };
        if self.signals.set_states(states.clone()) {
            let told: Vec<&str> = states.iter().copied().map(meaning).collect();
            let told = told.join("; ");
            notice(&format!("state: {told}"));
            self.supervisor.status(&told);
        }
    }

    /// Feeds the watchdog. While parked there is nothing to record, which counts as
    /// healthy.
    fn beat(&mut self) {
        let alive = self.engine.as_ref().is_none_or(RecordingEngine::is_alive);
        self.supervisor
            .feed_watchdog(alive, self.sound_missing, monotonic::now_ns());
    }

    fn finish(mut self) -> Result<PathBuf, RecorderError> {
        self.supervisor.stopping();
        // The trip first: giving up a device that hangs may take a second.
        let closed = self.close(ShutdownReason::Signal, self.known_ns);
        self.keeper.stop();
        closed.map(|()| self.dir)
    }
}

fn meaning(signal: OperatorSignal) -> &'static str {
    signal.pattern().meaning
}
