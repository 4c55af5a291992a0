//! The pins of the board: GPIO character devices through `linux-embedded-hal`.

use std::fmt::Display;
use std::path::Path;
use std::thread;
use std::time::Duration;

use embedded_hal::digital::{ErrorType, InputPin, OutputPin};
use linux_embedded_hal::gpio_cdev::{Chip, LineRequestFlags};
use linux_embedded_hal::{CdevPin, CdevPinError};

use super::bias::bias;
use super::edges;
use crate::backoff::RetryBackoff;
use crate::config::{ActiveLevel, InputPinConfig, OutputPinConfig};
use crate::device_message::{DeviceMessage, DeviceReporter};
use crate::error::RecorderError;
use crate::input_line::InputLine;
use crate::monotonic;
use crate::threads;

/// A line for which the kernel reports no edges is read this often.
const POLL_INTERVAL: Duration = Duration::from_millis(4);

/// Starts the thread that watches one pin.
pub(super) fn start(
    line: InputLine,
    config: InputPinConfig,
    mut reporter: DeviceReporter,
) -> Result<(), RecorderError> {
    let run = move || {
        let mut backoff = RetryBackoff::new();
        loop {
            let read = format!("{} is read from {}", line.name(), at(&config));
            let error = match edges::open(&config) {
                Ok(pin) => {
                    backoff.reset();
                    reporter.report_working(&format!("{read}, by edges"));
                    edges::follow(line, pin, config.active, &reporter)
                }
                // Some chips have no interrupts.
                Err(_) => match open_input(&config) {
                    Ok(pin) => {
                        backoff.reset();
                        reporter.report_working(&format!("{read}, every 4 ms"));
                        watch(line, pin, config.active, &reporter)
                    }
                    Err(error) => error,
                },
            };
            reporter.report_failure(&error.to_string());
            thread::sleep(backoff.wait());
        }
    };
    threads::spawn(line.name(), run)
}

/// Reports every change until the pin cannot be read.
fn watch<P: InputPin<Error: Display>>(
    line: InputLine,
    mut pin: P,
    active: ActiveLevel,
    reporter: &DeviceReporter,
) -> RecorderError {
    let mut last = None;
    loop {
        let at_ns = monotonic::now_ns();
        let read = match active {
            ActiveLevel::High => pin.is_high(),
            ActiveLevel::Low => pin.is_low(),
        };
        match read {
            Ok(active) if last != Some(active) => {
                last = Some(active);
                reporter.send(DeviceMessage::Line {
                    line,
                    active,
                    at_ns,
                });
            }
            Ok(_) => {}
            Err(error) => {
                return RecorderError::Device(format!("{} cannot be read: {error}", line.name()));
            }
        }
        thread::sleep(POLL_INTERVAL);
    }
}

/// Opens a pin for reading.
pub(crate) fn open_input(config: &InputPinConfig) -> Result<CdevPin, RecorderError> {
    let flags = LineRequestFlags::INPUT | bias(config.pull);
    request(&config.chip, config.line, flags, 0)
}

/// A pin that is driven; "high" means lit or sounding, whatever the polarity.
pub struct DrivenPin {
    pin: CdevPin,
    active: ActiveLevel,
}

/// Opens a pin for driving, off.
///
/// # Errors
/// [`RecorderError::Device`] when there is no such chip or line.
pub fn open_output(config: &OutputPinConfig) -> Result<DrivenPin, RecorderError> {
    let off = match config.active {
        ActiveLevel::High => 0,
        ActiveLevel::Low => 1,
    };
    let pin = request(&config.chip, config.line, LineRequestFlags::OUTPUT, off)?;
    Ok(DrivenPin {
        pin,
        active: config.active,
    })
}

impl ErrorType for DrivenPin {
    type Error = CdevPinError;
}

impl OutputPin for DrivenPin {
    fn set_low(&mut self) -> Result<(), CdevPinError> {
        match self.active {
            ActiveLevel::High => self.pin.set_low(),
            ActiveLevel::Low => self.pin.set_high(),
        }
    }

    fn set_high(&mut self) -> Result<(), CdevPinError> {
        match self.active {
            ActiveLevel::High => self.pin.set_high(),
            ActiveLevel::Low => self.pin.set_low(),
        }
    }
}

fn request(
    chip: &Path,
    line: u32,
    flags: LineRequestFlags,
    value: u8,
) -> Result<CdevPin, RecorderError> {
    let open = || {
        let handle = Chip::new(chip)?
            .get_line(line)?
            .request(flags, value, "jumpseat-recorder")?;
        CdevPin::new(handle)
    };
    open().map_err(|error| {
        RecorderError::Device(format!(
            "line {line} of {} cannot be opened: {error}; see the chips and lines with `gpioinfo`",
            chip.display()
        ))
    })
}

fn at(config: &InputPinConfig) -> String {
    format!("line {} of {}", config.line, config.chip.display())
}
