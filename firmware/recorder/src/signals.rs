//! The thread that drives the lamp and the sounder, so that a slow card never stretches a
//! tone.

mod page;

pub use page::page;

use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::Duration;

use embedded_hal::digital::{ErrorType, OutputPin};
use jumpseat_core::announcer::SignalAnnouncer;
use jumpseat_core::indicators::{LampDriver, SounderDriver};
use jumpseat_core::journal::RecorderFault;
use jumpseat_core::signal::OperatorSignal;
use linux_embedded_hal::CdevPinError;

use crate::config::{LinesConfig, OutputPinConfig};
use crate::device_message::{DeviceMessage, DeviceReporter};
use crate::error::RecorderError;
use crate::lines::{DrivenPin, open_output};
use crate::monotonic;
use crate::threads;

enum SignalRequest {
    PlayOnce(OperatorSignal),
    SetStates(Vec<OperatorSignal>),
}

/// The main loop's handle to the thread.
pub struct SignalPlayer {
    requests: Sender<SignalRequest>,
    states: Vec<OperatorSignal>,
}

impl SignalPlayer {
    /// Starts the thread. A pin that cannot be opened is reported and left out.
    ///
    /// # Errors
    /// [`RecorderError::Device`] when the system starts no thread.
    pub fn start(
        config: &LinesConfig,
        arrivals: &Sender<DeviceMessage>,
    ) -> Result<Self, RecorderError> {
        let (requests, inbox) = channel();
        let pin = |config: &Option<OutputPinConfig>| {
            let config = config.as_ref()?;
            let mut reporter = DeviceReporter::new(RecorderFault::Line, arrivals.clone());
            open_output(config)
                .inspect_err(|error| reporter.report_failure(&error.to_string()))
                .ok()
        };
        let lamp = LampDriver::new(OptionalPin(pin(&config.lamp)));
        let sounder = SounderDriver::new(OptionalPin(pin(&config.sounder)));
        let reporter = DeviceReporter::new(RecorderFault::Line, arrivals.clone());
        threads::spawn("signals", move || play(lamp, sounder, &inbox, reporter))?;
        Ok(Self {
            requests,
            states: Vec::new(),
        })
    }

    /// Plays a signal once.
    pub fn play_once(&self, signal: OperatorSignal) {
        self.request(SignalRequest::PlayOnce(signal));
    }

    /// Sets the current states. Returns whether they changed.
    pub fn set_states(&mut self, states: Vec<OperatorSignal>) -> bool {
        if states == self.states {
            return false;
        }
        self.states.clone_from(&states);
        self.request(SignalRequest::SetStates(states));
        true
    }

    fn request(&self, request: SignalRequest) {
        // The thread is gone only when the process ends.
        let _ending = self.requests.send(request);
    }
}

fn play(
    mut lamp: LampDriver<OptionalPin>,
    mut sounder: SounderDriver<OptionalPin>,
    inbox: &Receiver<SignalRequest>,
    mut reporter: DeviceReporter,
) {
    let mut announcer = SignalAnnouncer::new();
    let mut states = Vec::new();
    loop {
        let now_ns = monotonic::now_ns();
        let due_ns = announcer.update(&states, now_ns, |signal| sounder.request(signal, now_ns));
        lamp.show(&states, now_ns);
        let mut next_ns = due_ns;
        for step in [sounder.poll(now_ns), lamp.poll(now_ns)] {
            match step {
                Ok(step_ns) => next_ns = next_ns.into_iter().chain(step_ns).min(),
                Err(error) => reporter.report_failure(&format!("lamp or sounder: {error}")),
            }
        }
        let request = match next_ns {
            Some(next_ns) => {
                inbox.recv_timeout(Duration::from_nanos(next_ns.saturating_sub(now_ns)))
            }
            None => inbox.recv().map_err(|_| RecvTimeoutError::Disconnected),
        };
        match request {
            Ok(SignalRequest::PlayOnce(signal)) => sounder.request(signal, monotonic::now_ns()),
            Ok(SignalRequest::SetStates(now)) => states = now,
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => {
                // Off at the end; there is nobody left to report a failure to.
                lamp.show(&[], now_ns);
                let _dark = lamp.poll(now_ns);
                let _silent = sounder.stop();
                return;
            }
        }
    }
}

/// A pin that may be missing.
struct OptionalPin(Option<DrivenPin>);

impl ErrorType for OptionalPin {
    type Error = CdevPinError;
}

impl OutputPin for OptionalPin {
    fn set_low(&mut self) -> Result<(), CdevPinError> {
        self.0.as_mut().map_or(Ok(()), OutputPin::set_low)
    }

    fn set_high(&mut self) -> Result<(), CdevPinError> {
        self.0.as_mut().map_or(Ok(()), OutputPin::set_high)
    }
}
