//! Listens to the GPS receiver and passes its statements on unchanged, with a flag for
//! whether it claimed a fix.

mod gpsd;
mod listen_outcome;
mod report;
mod sentence;
mod serial;

pub use report::ReportReader;
pub use sentence::SentenceReader;

use std::sync::mpsc::Sender;
use std::thread;

use jumpseat_core::journal::RecorderFault;

use crate::backoff::RetryBackoff;
use crate::config::GpsConfig;
use crate::device_message::{DeviceMessage, DeviceReporter};
use crate::error::RecorderError;
use crate::threads;

/// Starts the thread that listens to the receiver, if one is configured.
///
/// # Errors
/// [`RecorderError::Device`] when the system starts no thread.
pub fn start(config: &GpsConfig, arrivals: &Sender<DeviceMessage>) -> Result<(), RecorderError> {
    if !config.is_some() {
        return Ok(());
    }
    let config = config.clone();
    let mut reporter = DeviceReporter::new(RecorderFault::Gps, arrivals.clone());
    let run = move || {
        let mut backoff = RetryBackoff::new();
        loop {
            let listened = match (&config.serial, &config.gpsd) {
                (Some(serial), _) => serial::listen(serial, &mut reporter),
                (None, Some(address)) => gpsd::listen(address, &mut reporter),
                (None, None) => return,
            };
            if listened.heard {
                backoff.reset();
            }
            reporter.report_failure(&listened.error.to_string());
            thread::sleep(backoff.wait());
        }
    };
    threads::spawn("gps", run)
}
