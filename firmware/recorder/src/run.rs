//! The daemon: starts the threads at the rim, and feeds the engine with what
//! they bring until it is told to stop.

mod last_trip;
mod room;
mod trips;
mod vehicle;

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;
use std::time::Duration;

use jumpseat_core::journal::{BootId, Fault, ShutdownReason};
use jumpseat_core::signal::Signal;

use crate::arrival::Arrival;
use crate::card;
use crate::config::Config;
use crate::dial::{self, Dial};
use crate::engine::{Engine, Line};
use crate::error::RecorderError;
use crate::signals::Signals;
use crate::sound::keeper::Keeper;
use crate::sound::{Intake, SoundDevice, queue};
use crate::supervisor::Supervisor;
use crate::{gps, lines, mono, system_clock};
use room::Room;
use trips::begin_trip;
pub use vehicle::LEASE;
use vehicle::Vehicle;

/// Samples are taken out of the queue at least this often, long before it is full.
/// Every wake-up costs more than the samples that it finds; whatever else
/// comes in, and a line that settles, is attended to at once.
const TICK: Duration = Duration::from_millis(250);
/// A device that brings no samples is opened again this often.
const REOPEN_AFTER_NS: u64 = 5_000_000_000;
/// Long enough to sound why the recording cannot begin.
const LAST_WORDS: Duration = Duration::from_millis(2_500);

/// Records until `stop` is set. `notice` gets sentences for the system's log.
/// Recording does not wait for any device; with `strict`, or when the config
/// says so, a device that fails at its first try ends it instead.
///
/// # Errors
/// [`RecorderError::Io`] when the card cannot be written,
/// [`RecorderError::Device`] for a device that failed and is not waited for.
/// Whatever was recorded until then is complete.
pub fn run(
    config: &Config,
    device: Box<dyn SoundDevice>,
    strict: bool,
    stop: &Arc<AtomicBool>,
    notice: &mut dyn FnMut(&str),
) -> Result<PathBuf, RecorderError> {
    let mut daemon = Daemon::start(config, device, strict || !config.wait_for_devices)?;
    daemon.tell_start(notice);
    let ended = daemon.serve(stop, notice);
    let dir = daemon.finish()?;
    ended.map(|()| dir)
}

struct Daemon {
    config: Config,
    boot: BootId,
    /// `None` while the ignition is off.
    engine: Option<Engine>,
    dir: PathBuf,
    intake: Intake,
    keeper: Keeper,
    signals: Signals,
    vehicle: Vehicle,
    room: Room,
    dial: Dial,
    supervisor: Supervisor,
    arrivals: Sender<Arrival>,
    inbox: Receiver<Arrival>,
    /// A device that fails before it ever worked ends the recording.
    strict: bool,
    worked: Vec<Fault>,
    sound_missing: bool,
    reopen_ns: u64,
    /// The time up to which everything that came was taken. A slow card may stop the
    /// main loop for seconds anywhere; what comes meanwhile is for its next round.
    known_ns: u64,
}

impl Daemon {
    fn start(
        config: &Config,
        device: Box<dyn SoundDevice>,
        strict: bool,
    ) -> Result<Self, RecorderError> {
        let (arrivals, inbox) = channel();
        let (kit, consumer) = queue();
        // The sound first: opening a card takes longest.
        let keeper = Keeper::start(device, kit, arrivals.clone())?;
        let signals = Signals::start(&config.lines, &arrivals)?;
        let boot = card::boot_id()?;
        let engine = begin_trip(config, &boot, &arrivals).inspect_err(|_| {
            // The self-test: nobody looks at a log in a car.
            signals.give(Signal::CardNearlyFull);
            if config.lines.sounder.is_some() {
                thread::sleep(LAST_WORDS);
            }
        })?;
        lines::start(&config.lines, &arrivals)?;
        gps::start(&config.gps, &arrivals)?;
        system_clock::start(&arrivals)?;
        let dial = dial::start(&config.dial, &arrivals)?;
        let supervisor = Supervisor::of_this_process().map_err(|error| {
            RecorderError::Device(format!(
                "the service manager cannot be told: {error}; check NOTIFY_SOCKET"
            ))
        })?;
        let floor = config.card.nearly_full_mib.saturating_mul(1 << 20);
        Ok(Self {
            dir: engine.dir(),
            engine: Some(engine),
            intake: Intake::new(consumer, config.sound.rx == config.sound.tx),
            keeper,
            signals,
            vehicle: Vehicle::new(config),
            room: Room::start(config.card.dir.clone(), floor, arrivals.clone())?,
            dial,
            supervisor,
            arrivals,
            inbox,
            strict,
            worked: Vec::new(),
            sound_missing: false,
            reopen_ns: mono::now_ns() + REOPEN_AFTER_NS,
            known_ns: mono::now_ns(),
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

    /// Takes everything that has come by now, but for the sound.
    fn take_all(
        &mut self,
        first: Option<Arrival>,
        notice: &mut dyn FnMut(&str),
    ) -> Result<(), RecorderError> {
        self.known_ns = mono::now_ns();
        let mut next = first.or_else(|| self.inbox.try_recv().ok());
        while let Some(arrival) = next {
            self.take(arrival, notice)?;
            // Each may wait for the card: slow is not hung.
            self.beat();
            next = self.inbox.try_recv().ok();
        }
        Ok(())
    }

    /// Hands the samples on and does what is due.
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
        if engine.take_dial_wish() {
            self.dial.read_now();
        }
        let current = self.dir.file_name().unwrap_or_default();
        self.room.look(&current.to_string_lossy(), known_ns);
        Ok(())
    }

    /// Until the next tick, or until a line may have settled.
    fn wait(&self) -> Duration {
        let now_ns = mono::now_ns();
        let engine = self.engine.as_ref().and_then(Engine::deadline_ns);
        let due_ns = engine.into_iter().chain(self.vehicle.deadline_ns()).min();
        due_ns.map_or(TICK, |due_ns| {
            TICK.min(Duration::from_nanos(due_ns.saturating_sub(now_ns)))
        })
    }

    fn take(
        &mut self,
        arrival: Arrival,
        notice: &mut dyn FnMut(&str),
    ) -> Result<(), RecorderError> {
        if let Arrival::Line {
            line: line @ (Line::Ignition | Line::LowSupply),
            active,
            at_ns,
        } = arrival
        {
            return match self.vehicle.line(line, active, at_ns) {
                Some(action) => self.act(action, at_ns, notice),
                None => Ok(()),
            };
        }
        if let Arrival::Fault { detail, .. }
        | Arrival::Working { detail, .. }
        | Arrival::Told { detail, .. } = &arrival
        {
            notice(detail);
        }
        self.remember(&arrival)?;
        let Some(engine) = &mut self.engine else {
            return Ok(());
        };
        match arrival {
            Arrival::Line {
                line,
                active,
                at_ns,
            } => engine.line(line, active, at_ns),
            Arrival::Gps { events, at_ns } => engine.gps(events, at_ns),
            Arrival::Dial { setting, at_ns } => engine.dial(setting, at_ns),
            Arrival::Working {
                fault,
                detail,
                at_ns,
                again,
            } => {
                if fault == Fault::Dial {
                    engine.dial_connected();
                }
                if again {
                    engine.recovery(fault, &detail, at_ns);
                }
            }
            Arrival::Told {
                fault,
                detail,
                at_ns,
            } => engine.recovery(fault, &detail, at_ns),
            Arrival::Fault {
                fault,
                detail,
                at_ns,
            } => engine.fault(fault, &detail, at_ns),
        }
        Ok(())
    }

    /// Which devices work, and which never did.
    fn remember(&mut self, arrival: &Arrival) -> Result<(), RecorderError> {
        match arrival {
            Arrival::Working { fault, .. } => {
                self.worked.push(*fault);
                self.sound_missing &= *fault != Fault::Sound;
            }
            Arrival::Fault { fault, detail, .. } => {
                self.sound_missing |= *fault == Fault::Sound;
                // A rig that is switched off is normal.
                let wanted = *fault != Fault::Dial;
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
        if !self.engine.as_ref().is_some_and(Engine::has_no_samples) {
            self.reopen_ns = now_ns + REOPEN_AFTER_NS;
        } else if now_ns >= self.reopen_ns {
            self.reopen_ns = now_ns + REOPEN_AFTER_NS;
            self.keeper.reopen();
        }
    }

    fn signal(&mut self, notice: &mut dyn FnMut(&str)) {
        let states = match &mut self.engine {
            Some(engine) => {
                for signal in engine.take_requests() {
                    self.signals.give(signal);
                    notice(signal.pattern().meaning);
                }
                engine.states()
            }
            None => vec![Signal::Parked],
        };
        if self.signals.lasting(states.clone()) {
            let told: Vec<&str> = states.iter().copied().map(meaning).collect();
            let told = told.join("; ");
            notice(&format!("state: {told}"));
            self.supervisor.status(&told);
        }
    }

    /// While parked there is nothing to record, and all is well.
    fn beat(&mut self) {
        let alive = self.engine.as_ref().is_none_or(Engine::is_alive);
        self.supervisor
            .beat(alive, self.sound_missing, mono::now_ns());
    }

    fn finish(mut self) -> Result<PathBuf, RecorderError> {
        self.supervisor.stopping();
        // The trip first: a device that hangs may take a second to be left.
        let closed = self.close(ShutdownReason::Signal, self.known_ns);
        self.keeper.stop();
        closed.map(|()| self.dir)
    }
}

fn meaning(signal: Signal) -> &'static str {
    signal.pattern().meaning
}
