//! What the board decides, without allocation, I/O or a clock of its own.
//!
//! Every decision is a function of values that the caller brings in: samples,
//! line levels, and the monotonic time at which they were seen. The same code
//! runs in the daemon on a Linux board, in the drive simulator, and on a
//! microcontroller.
#![no_std]
#![forbid(unsafe_code)]

pub mod journal;
