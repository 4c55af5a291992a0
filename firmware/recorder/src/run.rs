//! The daemon: starts the threads at the rim, and feeds the engine with what
//! they bring until it is told to stop.

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::Duration;

use jumpseat_core::journal::{Fault, ShutdownReason};
use jumpseat_core::signal::Signal;

use crate::arrival::Arrival;
use crate::card;
use crate::config::Config;
use crate::engine::Engine;
use crate::error::RecorderError;
use crate::signals::Signals;
use crate::sound::keeper::Keeper;
use crate::sound::{Intake, SoundDevice, queue};
use crate::storage::{Disk, Durability};
use crate::{dial, gps, lines, mono};

/// Samples are taken out of the queue at least this often.
const TICK: Duration = Duration::from_millis(100);
/// A device that brings no samples is opened again this often.
const REOPEN_AFTER_NS: u64 = 5_000_000_000;

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
    notice(&format!("recording into {}", daemon.engine.dir().display()));
    let ended = daemon.serve(stop, notice);
    let dir = daemon.finish()?;
    ended.map(|()| dir)
}

struct Daemon {
    engine: Engine,
    intake: Intake,
    keeper: Keeper,
    signals: Signals,
    inbox: Receiver<Arrival>,
    /// A device that fails before it ever worked ends the recording.
    strict: bool,
    worked: Vec<Fault>,
    reopen_ns: u64,
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
        let storage = Box::new(Disk::new(Durability::Synced));
        let now_ns = mono::now_ns();
        let boot = card::boot_id()?;
        let mut engine = Engine::start(storage, &config.card.dir, config, boot, now_ns)?;
        if config.dial.rigctld.is_none() {
            engine.fault(Fault::Dial, "no rig control is configured", now_ns);
        }
        if !config.gps.is_some() {
            engine.fault(Fault::Gps, "no receiver is configured", now_ns);
        }
        lines::start(&config.lines, &arrivals)?;
        gps::start(&config.gps, &arrivals)?;
        dial::start(&config.dial, &arrivals)?;
        let signals = Signals::start(&config.lines, &arrivals)?;
        Ok(Self {
            engine,
            intake: Intake::new(consumer, config.sound.rx == config.sound.tx),
            keeper,
            signals,
            inbox,
            strict,
            worked: Vec::new(),
            reopen_ns: now_ns + REOPEN_AFTER_NS,
        })
    }

    fn serve(
        &mut self,
        stop: &AtomicBool,
        notice: &mut dyn FnMut(&str),
    ) -> Result<(), RecorderError> {
        while !stop.load(Ordering::Relaxed) {
            match self.inbox.recv_timeout(self.wait()) {
                Ok(arrival) => self.take(arrival, notice)?,
                Err(RecvTimeoutError::Timeout | RecvTimeoutError::Disconnected) => {}
            }
            while let Ok(arrival) = self.inbox.try_recv() {
                self.take(arrival, notice)?;
            }
            if self.intake.drain(&mut self.engine)? {
                self.keeper.reopen();
            }
            self.engine.poll(mono::now_ns());
            self.reopen_when_silent();
            self.signal(notice);
        }
        Ok(())
    }

    /// Until the next tick, or until a line may have settled.
    fn wait(&self) -> Duration {
        let now_ns = mono::now_ns();
        self.engine.deadline_ns().map_or(TICK, |deadline_ns| {
            TICK.min(Duration::from_nanos(deadline_ns.saturating_sub(now_ns)))
        })
    }

    fn take(
        &mut self,
        arrival: Arrival,
        notice: &mut dyn FnMut(&str),
    ) -> Result<(), RecorderError> {
        match arrival {
            Arrival::Line {
                line,
                active,
                at_ns,
            } => self.engine.line(line, active, at_ns),
            Arrival::Gps { events, at_ns } => self.engine.gps(events, at_ns),
            Arrival::Dial { setting, at_ns } => self.engine.dial(setting, at_ns),
            Arrival::Working {
                fault,
                detail,
                at_ns,
                again,
            } => {
                notice(&detail);
                self.worked.push(fault);
                if fault == Fault::Dial {
                    self.engine.dial_connected();
                }
                if again {
                    self.engine.recovery(fault, &detail, at_ns);
                }
            }
            Arrival::Fault {
                fault,
                detail,
                at_ns,
            } => {
                notice(&detail);
                self.engine.fault(fault, &detail, at_ns);
                // A rig that is switched off is normal.
                let wanted = fault != Fault::Dial;
                if self.strict && wanted && !self.worked.contains(&fault) {
                    return Err(RecorderError::Device(detail));
                }
            }
        }
        Ok(())
    }

    fn reopen_when_silent(&mut self) {
        let now_ns = mono::now_ns();
        if !self.engine.has_no_samples() {
            self.reopen_ns = now_ns + REOPEN_AFTER_NS;
        } else if now_ns >= self.reopen_ns {
            self.reopen_ns = now_ns + REOPEN_AFTER_NS;
            self.keeper.reopen();
        }
    }

    fn signal(&mut self, notice: &mut dyn FnMut(&str)) {
        for signal in self.engine.take_requests() {
            self.signals.give(signal);
            notice(signal.pattern().meaning);
        }
        let states = self.engine.states();
        if self.signals.lasting(states.clone()) {
            let told: Vec<&str> = states.iter().copied().map(meaning).collect();
            notice(&format!("state: {}", told.join("; ")));
        }
    }

    fn finish(mut self) -> Result<PathBuf, RecorderError> {
        // Close the device first, so that nothing comes any more, then write
        // what is in the queue.
        self.keeper.stop();
        let now_ns = mono::now_ns();
        let drained = self.intake.finish(&mut self.engine, now_ns);
        let dir = self.engine.finish(ShutdownReason::Signal, now_ns)?;
        drained.map(|()| dir)
    }
}

fn meaning(signal: Signal) -> &'static str {
    signal.pattern().meaning
}
