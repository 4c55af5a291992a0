//! An input line as an `embedded-hal` pin: a device thread or a script sets its level, and
//! the debouncer reads it.

use std::convert::Infallible;

use embedded_hal::digital::{ErrorType, InputPin};
use jumpseat_core::debounce::{DebouncedPin, PinPolarity};

/// An input line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InputLine {
    /// The key line.
    Ptt,
    /// The mark button.
    Mark,
    /// The mark button's wire: active while it is broken or shorted.
    ButtonFault,
    /// The ignition line: active while the ignition is on.
    Ignition,
    /// The low-supply line: active while the supply is failing.
    LowSupply,
}

impl InputLine {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::Ptt,
        Self::Mark,
        Self::ButtonFault,
        Self::Ignition,
        Self::LowSupply,
    ];

    /// The name used in the feed, in the config and in messages.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Ptt => "ptt",
            Self::Mark => "mark",
            Self::ButtonFault => "button_fault",
            Self::Ignition => "ignition",
            Self::LowSupply => "low_supply",
        }
    }
}

/// The level that was last set; high is active.
#[derive(Debug)]
pub(crate) struct LinePin {
    pub(crate) active: bool,
}

impl ErrorType for LinePin {
    type Error = Infallible;
}

impl InputPin for LinePin {
    fn is_high(&mut self) -> Result<bool, Infallible> {
        Ok(self.active)
    }

    fn is_low(&mut self) -> Result<bool, Infallible> {
        Ok(!self.active)
    }
}

/// A debounced line that begins at this level.
pub(crate) fn debounced(active: bool, settle_ns: u64) -> DebouncedPin<LinePin> {
    let Ok(pin) = DebouncedPin::new(LinePin { active }, PinPolarity::ActiveHigh, settle_ns);
    pin
}
