//! The levels of the two lines as `embedded-hal` pins: a thread at the rim, or
//! a script, says when a level changed, and the debouncer reads it from here.

use std::convert::Infallible;

use embedded_hal::digital::{ErrorType, InputPin};
use jumpseat_core::debounce::{DebouncedPin, Polarity};

/// An input line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Line {
    /// The key line.
    Ptt,
    /// The mark button.
    Mark,
}

impl Line {
    /// The word used in the feed and in messages: "ptt" or "mark".
    pub const fn word(self) -> &'static str {
        match self {
            Self::Ptt => "ptt",
            Self::Mark => "mark",
        }
    }
}

/// The last level that was told; high is active.
#[derive(Debug, Default)]
pub(super) struct Wire {
    pub(super) active: bool,
}

impl ErrorType for Wire {
    type Error = Infallible;
}

impl InputPin for Wire {
    fn is_high(&mut self) -> Result<bool, Infallible> {
        Ok(self.active)
    }

    fn is_low(&mut self) -> Result<bool, Infallible> {
        Ok(!self.active)
    }
}

/// A line at rest behind the debouncer.
pub(super) fn debounced(settle_ns: u64) -> DebouncedPin<Wire> {
    let Ok(pin) = DebouncedPin::new(Wire::default(), Polarity::ActiveHigh, settle_ns);
    pin
}
