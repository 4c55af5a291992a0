//! The flag of the kernel for a pull resistor.

use linux_embedded_hal::gpio_cdev::LineRequestFlags;

use crate::config::PullResistor;

/// Flags of `linux/gpio.h` that the pin library does not define (Linux 5.5).
const BIAS_PULL_UP: u32 = 1 << 5;
const BIAS_PULL_DOWN: u32 = 1 << 6;
const BIAS_DISABLE: u32 = 1 << 7;

/// The flag for a pull resistor.
pub(super) const fn bias(pull: PullResistor) -> LineRequestFlags {
    LineRequestFlags::from_bits_retain(match pull {
        PullResistor::AsIs => 0,
        PullResistor::Up => BIAS_PULL_UP,
        PullResistor::Down => BIAS_PULL_DOWN,
        PullResistor::Off => BIAS_DISABLE,
    })
}
