//! The thread that sounds and lights, so that a slow card never stretches a tone.

mod page;

pub use page::page;

use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::Duration;

use embedded_hal::digital::{ErrorType, OutputPin};
use jumpseat_core::announcer::Announcer;
use jumpseat_core::journal::Fault;
use jumpseat_core::player::{Lamp, Sounder};
use jumpseat_core::signal::Signal;
use linux_embedded_hal::CdevPinError;

use crate::arrival::{Arrival, Reporter};
use crate::config::{LinesConfig, OutputPinConfig};
use crate::error::RecorderError;
use crate::lines::{Output, open_output};
use crate::mono;

enum Call {
    Give(Signal),
    Lasting(Vec<Signal>),
}

/// The main loop's hold on the thread.
pub struct Signals {
    calls: Sender<Call>,
    lasting: Vec<Signal>,
}

impl Signals {
    /// Starts the thread. A pin that cannot be opened is told and done without.
    ///
    /// # Errors
    /// [`RecorderError::Device`] when the system gives no thread.
    pub fn start(config: &LinesConfig, arrivals: &Sender<Arrival>) -> Result<Self, RecorderError> {
        let (calls, inbox) = channel();
        let pin = |config: &Option<OutputPinConfig>| {
            let config = config.as_ref()?;
            let mut reporter = Reporter::new(Fault::Line, arrivals.clone());
            open_output(config)
                .inspect_err(|error| reporter.failed(&error.to_string()))
                .ok()
        };
        let lamp = Lamp::new(Pin(pin(&config.lamp)));
        let sounder = Sounder::new(Pin(pin(&config.sounder)));
        let reporter = Reporter::new(Fault::Line, arrivals.clone());
        thread::Builder::new()
            .name("signals".to_owned())
            .spawn(move || play(lamp, sounder, &inbox, reporter))
            .map_err(|error| {
                RecorderError::Device(format!("no thread for the sounder: {error}"))
            })?;
        Ok(Self {
            calls,
            lasting: Vec::new(),
        })
    }

    /// Gives a signal once.
    pub fn give(&self, signal: Signal) {
        self.call(Call::Give(signal));
    }

    /// Says which states last. `true` when they are others than before.
    pub fn lasting(&mut self, states: Vec<Signal>) -> bool {
        if states == self.lasting {
            return false;
        }
        self.lasting.clone_from(&states);
        self.call(Call::Lasting(states));
        true
    }

    fn call(&self, call: Call) {
        // The thread is gone only when the process ends.
        let _ending = self.calls.send(call);
    }
}

fn play(
    mut lamp: Lamp<Pin>,
    mut sounder: Sounder<Pin>,
    inbox: &Receiver<Call>,
    mut reporter: Reporter,
) {
    let mut announcer = Announcer::new();
    let mut states = Vec::new();
    loop {
        let now_ns = mono::now_ns();
        let due_ns = announcer.update(&states, now_ns, |signal| sounder.request(signal, now_ns));
        lamp.show(&states, now_ns);
        let mut next_ns = due_ns;
        for step in [sounder.poll(now_ns), lamp.poll(now_ns)] {
            match step {
                Ok(step_ns) => next_ns = next_ns.into_iter().chain(step_ns).min(),
                Err(error) => reporter.failed(&format!("lamp or sounder: {error}")),
            }
        }
        let call = match next_ns {
            Some(next_ns) => {
                inbox.recv_timeout(Duration::from_nanos(next_ns.saturating_sub(now_ns)))
            }
            None => inbox.recv().map_err(|_| RecvTimeoutError::Disconnected),
        };
        match call {
            Ok(Call::Give(signal)) => sounder.request(signal, mono::now_ns()),
            Ok(Call::Lasting(now)) => states = now,
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => {
                // Dark and silent at the end; nobody is left to hear of a failure.
                lamp.show(&[], now_ns);
                let _dark = lamp.poll(now_ns);
                let _silent = sounder.stop();
                return;
            }
        }
    }
}

/// A pin, or none.
struct Pin(Option<Output>);

impl ErrorType for Pin {
    type Error = CdevPinError;
}

impl OutputPin for Pin {
    fn set_low(&mut self) -> Result<(), CdevPinError> {
        self.0.as_mut().map_or(Ok(()), OutputPin::set_low)
    }

    fn set_high(&mut self) -> Result<(), CdevPinError> {
        self.0.as_mut().map_or(Ok(()), OutputPin::set_high)
    }
}
