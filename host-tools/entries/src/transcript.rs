//! What was said in the overs of a trip's entries, as text.
//!
//! It is worked out with the draft and kept in a file of its own beside the logbook: text is
//! long, and every change of an entry stays in the history for ever.

use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};

use crate::draft::Draft;

/// The version of the file; raised when a reader of the old one would misread it.
const TRANSCRIPT_FORMAT: u32 = 1;
/// What was said up to so many seconds before an entry's first over and after its last one
/// belongs to it.
const MARGIN_S: f64 = 2.0;
/// Where overs begin at times nearer than this, in seconds, they are the same one: times are
/// stored in milliseconds.
const SAME_TIME_S: f64 = 0.002;

/// What was said in the overs of a trip's entries.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TripTranscript {
    format: u32,
    /// The overs that were written down, in order of time.
    pub overs: Vec<OverTranscript>,
}

/// What was said in an over, or in the parts of it that belong to entries.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OverTranscript {
    /// "rx" or "tx".
    pub direction: String,
    /// Where the over begins, in seconds of trip time.
    pub start_s: f64,
    /// Where it ends.
    pub end_s: f64,
    /// The words in order; none where nobody spoke.
    pub words: Vec<SaidWord>,
}

/// A word that was said.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SaidWord {
    /// In small letters, as it was spoken.
    pub text: String,
    /// First and end, in seconds of trip time.
    pub span_s: (f64, f64),
    /// Probability that it was said, 0 to 1.
    pub probability: f64,
}

impl TripTranscript {
    /// The transcript of a trip with these overs.
    pub fn new(overs: Vec<OverTranscript>) -> Self {
        Self {
            format: TRANSCRIPT_FORMAT,
            overs,
        }
    }

    /// Whether this version reads it without misunderstanding.
    pub fn is_known_format(&self) -> bool {
        self.format == TRANSCRIPT_FORMAT
    }

    /// The overs of a draft with the words that were said in its time; empty if none of them
    /// was written down.
    pub fn of_draft(&self, draft: &Draft) -> Vec<OverTranscript> {
        let (from_s, to_s) = draft.spoken_window_s();
        let belongs = |over: &&OverTranscript| draft.has_over(&over.direction, over.start_s);
        let inside = |word: &&SaidWord| word.span_s.0 < to_s && from_s < word.span_s.1;
        let overs = self.overs.iter().filter(belongs);
        overs
            .map(|over| OverTranscript {
                words: over.words.iter().filter(inside).cloned().collect(),
                ..over.clone()
            })
            .collect()
    }
}

impl Draft {
    /// Whether an over of this direction that begins then, in seconds of trip time, belongs to
    /// it.
    pub fn has_over(&self, direction: &str, start_s: f64) -> bool {
        self.overs
            .iter()
            .any(|over| over.direction == direction && (over.start_s - start_s).abs() < SAME_TIME_S)
    }

    /// UTC of a second of the trip, by the draft's own beginning.
    pub fn utc_at(&self, at_s: f64) -> Option<DateTime<Utc>> {
        let later = TimeDelta::try_milliseconds(((at_s - self.on_s) * 1e3).round() as i64)?;
        self.on.value?.checked_add_signed(later)
    }

    /// From when to when, in seconds of trip time, what is said in its overs belongs to it: an
    /// over that was received between two contacts may be an hour long.
    pub fn spoken_window_s(&self) -> (f64, f64) {
        (self.on_s - MARGIN_S, self.off_s + MARGIN_S)
    }
}
