//! The self-test: opens every input, listens for some seconds, and reports what it finds,
//! with advice for each problem.

mod inputs;
mod report;
mod sound_channels;

use std::time::Duration;

pub use report::{CheckFinding, CheckReport, InputHealth};

use crate::config::{RecorderConfig, SoundConfig};
use crate::error::RecorderError;
use crate::sound::SoundDevice;

/// Makes the sound device of a config; it is opened by the self-test.
pub type DeviceFactory = dyn Fn(&SoundConfig) -> Result<Box<dyn SoundDevice>, RecorderError>;

/// Tests every input that the config names. Takes about `listen`, and half as
/// long again for every two channels of the sound device beyond the first two.
/// Nothing is recorded.
pub fn check(config: &RecorderConfig, device: &DeviceFactory, listen: Duration) -> CheckReport {
    let mut findings = inputs::station(config);
    findings.extend(inputs::card(config));
    // The other inputs report while the sound channels are measured.
    let others = inputs::OtherInputs::start(config);
    findings.extend(sound_channels::sound(config, device, listen / 2));
    findings.extend(others.hear(config, listen));
    CheckReport { findings }
}
