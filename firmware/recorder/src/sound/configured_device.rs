//! The sound device that the config names: an ALSA device, or an error in a build without
//! sound.

#[cfg(feature = "sound")]
use super::alsa::AlsaDevice;
use super::device::SoundDevice;
use crate::config::SoundConfig;
use crate::error::RecorderError;

/// The device that the config names, not opened yet.
///
/// # Errors
/// [`RecorderError::Device`] in a build without the feature `sound`.
#[cfg(feature = "sound")]
pub fn configured_device(config: &SoundConfig) -> Result<Box<dyn SoundDevice>, RecorderError> {
    Ok(Box::new(AlsaDevice::new(config.clone())))
}

/// The device that the config names, not opened yet.
///
/// # Errors
/// [`RecorderError::Device`] in a build without the feature `sound`: always.
#[cfg(not(feature = "sound"))]
pub fn configured_device(config: &SoundConfig) -> Result<Box<dyn SoundDevice>, RecorderError> {
    Err(RecorderError::Device(format!(
        "this recorder was built without sound, so it cannot open {:?}; build it with the \
         feature \"sound\"",
        config.device
    )))
}
