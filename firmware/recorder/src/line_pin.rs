//! An input line as an `embedded-hal` pin: a device thread or a script sets its level, and
//! the debouncer reads it.

use std::convert::Infallible;

use embedded_hal::digital::{ErrorType, InputPin};
use jumpseat_core::debounce::{DebouncedPin, PinPolarity};

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
