//! How much sound is written at once.

/// Frames a write: 20 ms at 16 kHz.
pub(super) const PERIOD: usize = 320;
