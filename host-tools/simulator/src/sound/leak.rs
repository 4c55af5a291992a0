//! The own voice in the receive channel.

use std::f32::consts::TAU;

use super::units::{SCRIPT_SAMPLE_RATE, gain};

/// The own voice in the receive channel under its level in the transmit channel, in dB.
pub(super) const LEAK_DB: f32 = -26.0;

/// A thump as the key goes down or up: length in seconds, pitch in hertz.
const THUMP_S: f32 = 0.03;
const THUMP_HZ: f32 = 100.0;

/// The thump so many samples after the key went down or up; speech has level 1.
pub(super) fn thump(since: u64) -> f32 {
    let seconds = since as f32 / SCRIPT_SAMPLE_RATE as f32;
    if seconds >= THUMP_S {
        return 0.0;
    }
    // It has died away by 40 dB at its end.
    gain(-40.0 * seconds / THUMP_S) * (TAU * THUMP_HZ * seconds).sin()
}
