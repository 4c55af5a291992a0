//! Turns the sound device's samples into frames at 16 kHz.
//!
//! The device's callback only copies samples and the monotonic time into a queue that never
//! blocks ([`SoundInlet`]); a thread of its own opens the device, and opens it again after
//! a loss ([`device_supervisor`]); the main loop takes the samples out, accounts for
//! missing ones and converts the rate ([`SoundIntake`]).

pub mod device_supervisor;
mod inlet;
mod intake;
mod queue;
mod resampler;

#[cfg(feature = "sound")]
pub mod alsa;

pub use inlet::{InletFactory, SoundInlet, sound_queue};
pub use intake::SoundIntake;
pub use queue::{BlockStamp, QueueConsumer, SampleBlock, SamplePair};
pub use resampler::SoundResampler;

use crate::config::SoundConfig;
use crate::error::RecorderError;

/// A device that can be opened and then delivers samples.
pub trait SoundDevice: Send {
    /// Opens the device. It passes its rate to `kit` for an inlet to push frames into, and
    /// calls `lost` once when it stops delivering.
    ///
    /// # Errors
    /// Why it cannot be opened, and what can be done about it.
    fn open(
        &mut self,
        kit: &mut InletFactory,
        lost: Box<dyn FnOnce(String) + Send>,
    ) -> Result<OpenDevice, RecorderError>;
}

/// An open device; dropping it closes it.
pub struct OpenDevice {
    /// Description for a person: rate, channels, sample format.
    pub description: String,
    /// Channels that the device has.
    pub channels: u16,
    /// The stream itself.
    pub stream: Box<dyn std::any::Any>,
}

/// The device that the config names, not opened yet.
///
/// # Errors
/// [`RecorderError::Device`] in a build without the feature `sound`.
#[cfg(feature = "sound")]
pub fn device(config: &SoundConfig) -> Result<Box<dyn SoundDevice>, RecorderError> {
    Ok(Box::new(alsa::AlsaDevice::new(config.clone())))
}

/// The device that the config names, not opened yet.
///
/// # Errors
/// [`RecorderError::Device`] in a build without the feature `sound`: always.
#[cfg(not(feature = "sound"))]
pub fn device(config: &SoundConfig) -> Result<Box<dyn SoundDevice>, RecorderError> {
    Err(RecorderError::Device(format!(
        "this recorder was built without sound, so it cannot open {:?}; build it with the \
         feature \"sound\"",
        config.device
    )))
}
