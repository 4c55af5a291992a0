//! UTC of every sample, resolved from all observations of a trip.
//!
//! Two clocks are fitted one after the other: the sample count against the
//! monotonic clock ([`sample_clock`]), and the monotonic clock against UTC
//! ([`utc_clock`]) from those time fixes that can be true together ([`groups`]).
//! The uncertainty of a time is the sum of both. It covers what the fixes cannot show,
//! such as how late a receiver's sentences always are; it does not cover a
//! constant delay in the sound device beyond a millisecond.

mod bounded;
mod fixes;
mod groups;
mod leap;
mod pieces;
mod pulses;
mod sample_clock;
mod settings;
mod timeline;
mod utc_clock;

#[cfg(test)]
mod tests;

pub use settings::TimeSettings;
pub use timeline::{TimeQuality, Timeline};
