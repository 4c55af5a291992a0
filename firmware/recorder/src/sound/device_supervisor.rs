//! Keeps the sound device open: tries again, at growing intervals, when it is missing or
//! lost.

use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::{Duration, Instant};

use jumpseat_core::journal::RecorderFault;

use super::{InletFactory, SoundDevice};
use crate::backoff::RetryBackoff;
use crate::device_message::{DeviceMessage, DeviceReporter};
use crate::error::RecorderError;

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
    /// # Errors [`RecorderError::Device`] when the system starts no thread.
    pub fn start(
        device: Box<dyn SoundDevice>,
        kit: InletFactory,
        arrivals: Sender<DeviceMessage>,
    ) -> Result<Self, RecorderError> {
        let (orders, inbox) = channel();
        let (done, stopped) = channel();
        let lost = orders.clone();
        thread::Builder::new()
            .name("sound".to_owned())
            .spawn(move || {
                keep(
                    device,
                    kit,
                    &lost,
                    &inbox,
                    DeviceReporter::new(RecorderFault::Sound, arrivals),
                );
                // Nobody may be waiting any more.
                let _unheard = done.send(());
            })
            .map_err(|error| RecorderError::Device(format!("no thread for the sound: {error}")))?;
        Ok(Self { orders, stopped })
    }

    /// Closes the device and opens it again, because it delivers no samples or too many.
    pub fn reopen(&self) {
        // The thread is gone only when the process ends.
        let _gone = self.orders.send(DeviceOrder::Reopen);
    }

    /// Closes the device. A device that hangs is left open until the process ends.
    pub fn stop(self) {
        let _gone = self.orders.send(DeviceOrder::Stop);
        let _hangs = self.stopped.recv_timeout(Duration::from_secs(1));
    }
}

fn keep(
    mut device: Box<dyn SoundDevice>,
    mut kit: InletFactory,
    lost: &Sender<DeviceOrder>,
    inbox: &Receiver<DeviceOrder>,
    mut reporter: DeviceReporter,
) {
    let mut backoff = RetryBackoff::new();
    loop {
        let lost = lost.clone();
        let tell = Box::new(move |why| {
            // The receiver is gone only when the process ends.
            let _ending = lost.send(DeviceOrder::Lost(why));
        });
        let why = match device.open(&mut kit, tell) {
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
