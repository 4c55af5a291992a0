//! Turns the sound device's samples into frames at 16 kHz.
//!
//! The device's callback only copies samples and the monotonic time into a queue that never
//! blocks ([`SoundInlet`]); a thread of its own opens the device, and opens it again after
//! a loss ([`device_supervisor`]); the main loop takes the samples out, accounts for
//! missing ones and converts the rate ([`SoundIntake`]).

mod configured_device;
mod device;
pub mod device_supervisor;
mod inlet;
mod intake;
mod queue;
mod resampler;

#[cfg(feature = "sound")]
pub mod alsa;

pub use configured_device::configured_device;
pub use device::{DeviceFactory, OpenDevice, SoundDevice};
pub use inlet::{InletFactory, SoundInlet, sound_queue};
pub use intake::SoundIntake;
pub use queue::{BlockStamp, QueueConsumer, SampleBlock, SamplePair};
pub use resampler::SoundResampler;
