//! The input lines: threads that report every change of level with its time.

mod bias;
mod edges;
mod feed;
mod pins;
mod pulse;

pub use feed::{FeedLine, parse_feed_line};
pub use pins::{DrivenPin, open_output};

use std::sync::mpsc::Sender;

use jumpseat_core::journal::RecorderFault;

use crate::config::LinesConfig;
use crate::device_message::{DeviceMessage, DeviceReporter};
use crate::error::RecorderError;
use crate::input_line::InputLine;

/// Starts the threads that this config needs.
///
/// # Errors
/// [`RecorderError::Device`] when the system starts no thread.
pub fn start(config: &LinesConfig, arrivals: &Sender<DeviceMessage>) -> Result<(), RecorderError> {
    let mut with_pins = Vec::new();
    for line in InputLine::ALL {
        if let Some(pin) = config.pin(line) {
            let reporter = DeviceReporter::new(RecorderFault::Line, arrivals.clone());
            pins::start(line, pin.clone(), reporter)?;
            with_pins.push(line);
        }
    }
    if let Some(pin) = &config.pulse {
        pulse::start(
            pin.clone(),
            DeviceReporter::new(RecorderFault::Line, arrivals.clone()),
        )?;
    }
    if let Some(feed) = &config.feed {
        let reporter = DeviceReporter::new(RecorderFault::Line, arrivals.clone());
        feed::start(feed.clone(), with_pins, reporter)?;
    }
    Ok(())
}
