//! What the board decides, without allocation, I/O or a clock of its own.
//!
//! Every decision is a function of values that the caller passes in: samples, line levels,
//! and the monotonic time at which they were seen. The same code runs in the daemon on a
//! Linux board, in the drive simulator, and on a microcontroller.
#![no_std]
#![forbid(unsafe_code)]

pub mod announcer;
pub mod call_sign;
pub mod debounce;
pub mod indicators;
pub mod journal;
pub mod level;
pub mod mark;
pub mod power;
pub mod sample_clock;
pub mod segmenter;
pub mod signal;

/// Samples per second and channel in everything that is recorded.
pub const SAMPLE_RATE: u32 = 16_000;

/// Nanoseconds from one sample to the next: exactly 62,500.
pub const SAMPLE_NS: u64 = 1_000_000_000 / SAMPLE_RATE as u64;

/// One instant of both audio channels, 16-bit signed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct AudioFrame {
    /// The receiver's output.
    pub rx: i16,
    /// The operator's voice: microphone or transmit monitor.
    pub tx: i16,
}
