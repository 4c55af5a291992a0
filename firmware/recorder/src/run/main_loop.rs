//! The main loop: takes messages and samples, does what is due, and keeps lamp, sounder and
//! service manager up to date.

use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use jumpseat_core::journal::{RecorderFault, ShutdownReason};
use jumpseat_core::signal::OperatorSignal;

use super::daemon::{REOPEN_EVERY_NS, RecorderDaemon};
use crate::device_message::DeviceMessage;
use crate::engine::RecordingEngine;
use crate::error::RecorderError;
use crate::input_line::InputLine;
use crate::monotonic;

/// Samples are taken out of the queue at least this often, long before it is full. Every
/// wake-up costs more than the samples that it finds. Any other message, and a line that
/// settles, is handled at once.
const TICK_INTERVAL: Duration = Duration::from_millis(250);
impl RecorderDaemon {
    /// Reports the first trip to the log and to the service manager.
    pub(super) fn report_start(&mut self, notice: &mut dyn FnMut(&str)) {
        notice(&format!("recording into {}", self.dir.display()));
        self.service_notifier.ready();
    }

    /// Runs until `stop` is set.
    pub(super) fn serve(
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
            self.update_signals(notice);
            self.feed_watchdog();
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
            self.feed_watchdog();
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
            self.device_supervisor.reopen();
        }
        engine.poll(known_ns);
        if engine.take_dial_request() {
            self.dial.read_now();
        }
        let current = self.dir.file_name().unwrap_or_default();
        self.card_upkeep.look(&current.to_string_lossy(), known_ns);
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
            self.device_supervisor.reopen();
        }
    }

    fn update_signals(&mut self, notice: &mut dyn FnMut(&str)) {
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
            let meanings: Vec<&str> = states.iter().copied().map(meaning).collect();
            let state_text = meanings.join("; ");
            notice(&format!("state: {state_text}"));
            self.service_notifier.status(&state_text);
        }
    }

    /// Feeds the watchdog. While parked there is nothing to record, which counts as
    /// healthy.
    fn feed_watchdog(&mut self) {
        let alive = self.engine.as_ref().is_none_or(RecordingEngine::is_alive);
        self.service_notifier
            .feed_watchdog(alive, self.sound_missing, monotonic::now_ns());
    }

    /// Closes the trip and the sound device.
    pub(super) fn finish(mut self) -> Result<PathBuf, RecorderError> {
        self.service_notifier.stopping();
        // The trip first: giving up a device that hangs may take a second.
        let closed = self.close(ShutdownReason::Signal, self.known_ns);
        self.device_supervisor.stop();
        closed.map(|()| self.dir)
    }
}

fn meaning(signal: OperatorSignal) -> &'static str {
    signal.pattern().meaning
}
