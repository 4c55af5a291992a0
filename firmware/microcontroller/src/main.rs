//! Runs the core's tables of cases and reports the result to the emulator.
#![no_std]
#![no_main]

#[path = "../../core/tests/cases/mod.rs"]
mod cases;

use core::panic::PanicInfo;

// Provides the critical sections that the output needs.
use cortex_m as _;
use cortex_m_rt::entry;
use cortex_m_semihosting::{debug, hprintln};

#[entry]
fn main() -> ! {
    hprintln!("{} cases", cases::all());
    loop {
        debug::exit(debug::EXIT_SUCCESS);
    }
}

#[panic_handler]
fn failed(info: &PanicInfo<'_>) -> ! {
    hprintln!("{}", info);
    loop {
        debug::exit(debug::EXIT_FAILURE);
    }
}
