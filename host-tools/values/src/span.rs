//! A stretch of time.

use serde::{Deserialize, Serialize};

/// A stretch of trip time in seconds, `start_s <= end_s`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Span {
    /// First second.
    pub start_s: f64,
    /// Last second.
    pub end_s: f64,
}

impl Span {
    /// A stretch from `start_s` to `end_s`.
    pub const fn new(start_s: f64, end_s: f64) -> Self {
        Self { start_s, end_s }
    }

    /// Whether the two have any time in common, or touch.
    pub fn meets(&self, other: &Self) -> bool {
        self.start_s <= other.end_s && other.start_s <= self.end_s
    }

    /// Length in seconds, never negative.
    pub fn length_s(&self) -> f64 {
        (self.end_s - self.start_s).max(0.0)
    }
}
