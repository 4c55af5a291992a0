//! The two audio channels of a drive: voices after their way over the air, and the noise
//! around them.

mod arriving;
mod band;
mod car_noise;
mod channel;
mod effects;
mod filter;
mod gain_control;
mod leak;
mod mixer;
pub(crate) mod morse;
mod splatter;
#[cfg(test)]
mod tests;
pub(crate) mod units;
pub(crate) mod window;

pub use mixer::DriveMixer;
pub use units::SCRIPT_SAMPLE_RATE;
