//! A sound device that can be opened, and what an open one is.

use super::inlet::InletFactory;
use crate::config::SoundConfig;
use crate::error::RecorderError;

/// A device that can be opened and then delivers samples.
pub trait SoundDevice: Send {
    /// Opens the device. It passes its rate to `factory` for an inlet to push frames into, and
    /// calls `lost` once when it stops delivering.
    ///
    /// # Errors
    /// Why it cannot be opened, and what can be done about it.
    fn open(
        &mut self,
        factory: &mut InletFactory,
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

/// Makes the sound device of a config, which the self-test opens.
pub type DeviceFactory = dyn Fn(&SoundConfig) -> Result<Box<dyn SoundDevice>, RecorderError>;
