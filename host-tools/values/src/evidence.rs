//! Where a value comes from.

use serde::{Deserialize, Serialize};

use crate::Span;

/// Where something was said or seen, in seconds of trip time (0 at the first sample of
/// the trip).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Evidence {
    /// Index of the over in the drive that is being drafted. It means nothing once the
    /// draft is stored, and is not written.
    #[serde(skip)]
    pub over: Option<usize>,
    /// Number of the sound file that holds it.
    pub segment: Option<u32>,
    /// Where it begins.
    pub start_s: f64,
    /// Where it ends.
    pub end_s: f64,
}

impl Evidence {
    /// A stretch of an over of the drive that is being drafted.
    pub const fn in_over(over: usize, span: Span) -> Self {
        Self {
            over: Some(over),
            segment: None,
            start_s: span.start_s,
            end_s: span.end_s,
        }
    }

    /// From when to when.
    pub const fn span(&self) -> Span {
        Span::new(self.start_s, self.end_s)
    }
}
