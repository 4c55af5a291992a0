//! Keeps the sound device open: tries again, at growing intervals, when it is missing or
//! lost.

use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::{Duration, Instant};

use jumpseat_core::journal::RecorderFault;

use super::device::SoundDevice;
use super::inlet::InletFactory;
use crate::backoff::RetryBackoff;
use crate::device_message::{DeviceMessage, DeviceReporter};
use crate::error::RecorderError;
use crate::threads;

/// A device that was open this long works, so the next loss starts the intervals over.
const WORKING_AFTER: Duration = Duration::from_secs(10);

enum DeviceOrder {
    Lost(String),
    Reopen,
    Stop,
}

/// The main loop's handle to the thread.
pub struct DeviceSupervisor {
    orders: Sender<DeviceOrder>,
    stopped: Receiver<()>,
}

impl DeviceSupervisor {
    /// Starts the thread.
    ///
    /// # Errors
    /// [`RecorderError::Device`] when the system starts no thread.
    pub fn start(
        device: Box<dyn SoundDevice>,
        factory: InletFactory,
        arrivals: Sender<DeviceMessage>,
    ) -> Result<Self, RecorderError> {
        let (orders, inbox) = channel();
        let (done, stopped) = channel();
        let lost = orders.clone();
        threads::spawn("sound", move || {
            let reporter = DeviceReporter::new(RecorderFault::Sound, arrivals);
            keep_open(device, factory, &lost, &inbox, reporter);
            // Nobody may be waiting any more.
            let _unheard = done.send(());
        })?;
        Ok(Self { orders, stopped })
    }

    /// Closes the device and opens it again, because it delivers no samples or too many.
    pub fn reopen(&self) {
        // The thread is gone only when the process ends.
        let _ending = self.orders.send(DeviceOrder::Reopen);
    }

    /// Closes the device. A device that hangs is left open until the process ends.
    pub fn stop(self) {
        let _ending = self.orders.send(DeviceOrder::Stop);
        let _still_open = self.stopped.recv_timeout(Duration::from_secs(1));
    }
}

/// Opens the device, and opens it again after a loss, until it is asked to stop.
fn keep_open(
    mut device: Box<dyn SoundDevice>,
    mut factory: InletFactory,
    lost: &Sender<DeviceOrder>,
    inbox: &Receiver<DeviceOrder>,
    mut reporter: DeviceReporter,
) {
    let mut backoff = RetryBackoff::new();
    loop {
        let lost = lost.clone();
        let report = Box::new(move |why| {
            // The receiver is gone only when the process ends.
            let _ending = lost.send(DeviceOrder::Lost(why));
        });
        let why = match device.open(&mut factory, report) {
            Ok(open) => {
                let opened = Instant::now();
                reporter.report_working(&open.description);
                let order = inbox.recv();
                drop(open.stream);
                if opened.elapsed() > WORKING_AFTER {
                    backoff.reset();
                }
                match order {
                    Ok(DeviceOrder::Lost(why)) => why,
                    Ok(DeviceOrder::Reopen) => "the sound device is opened again".to_owned(),
                    Ok(DeviceOrder::Stop) | Err(_) => return,
                }
            }
            Err(error) => error.to_string(),
        };
        reporter.report_failure(&why);
        if stopped_within(backoff.wait(), inbox) {
            return;
        }
    }
}

/// Waits, and ignores orders about the stream that is closed now.
fn stopped_within(wait: Duration, inbox: &Receiver<DeviceOrder>) -> bool {
    let until = Instant::now() + wait;
    loop {
        match inbox.recv_timeout(until.saturating_duration_since(Instant::now())) {
            Ok(DeviceOrder::Stop) | Err(RecvTimeoutError::Disconnected) => return true,
            Ok(_) => {}
            Err(RecvTimeoutError::Timeout) => return false,
        }
    }
}
