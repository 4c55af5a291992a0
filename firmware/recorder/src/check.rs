//! The self-test: opens every input, listens for some seconds, and reports what it finds,
//! with advice for each problem.

mod inputs;
mod report;
mod sound_channels;

use std::time::Duration;

pub use report::{CheckFinding, CheckReport, InputHealth};

use crate::config::RecorderConfig;
use crate::sound::DeviceFactory;

/// Tests every input that the config names. Takes about `listen`, and half as
/// long again for every two channels of the sound device beyond the first two.
/// Nothing is recorded.
pub fn check(config: &RecorderConfig, device: &DeviceFactory, listen: Duration) -> CheckReport {
    let mut findings = inputs::station(config);
    findings.extend(inputs::card(config));
    // The other inputs report while the sound channels are measured.
    let others = inputs::OtherInputs::start(config);
    findings.extend(sound_channels::sound(config, device, listen / 2));
    findings.extend(others.findings(config, listen));
    CheckReport { findings }
}
