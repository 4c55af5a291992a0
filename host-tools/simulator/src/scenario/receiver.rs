//! How the satellite receiver behaves.

use serde::{Deserialize, Serialize};

/// The satellite receiver.
#[derive(Debug, Clone)]
pub struct ReceiverBehaviour {
    /// It reports no date before this.
    pub date_after_s: f64,
    /// It has no fix before this.
    pub fix_after_s: f64,
    /// Error of the date and time that it reports before its first fix, in seconds.
    pub early_clock_error_s: f64,
    /// Its sentences come this long after the second that they name.
    pub latency_s: (f64, f64),
    /// No sky.
    pub tunnel: Option<DriveSpan>,
}

/// A stretch of time in seconds from the start of the drive.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct DriveSpan {
    /// Start.
    pub from_s: f64,
    /// End.
    pub to_s: f64,
}

impl DriveSpan {
    /// Holds for the start and not for the end.
    pub fn contains(&self, at_s: f64) -> bool {
        (self.from_s..self.to_s).contains(&at_s)
    }
}
