//! What the scorer reads of `jumpseat draft --json`. Read here on its own, so
//! that a change of the draft's form is seen as one.

use std::collections::BTreeMap;

use chrono::{DateTime, Utc};
use serde::Deserialize;

/// A drafted trip.
#[derive(Debug, Clone, Deserialize)]
pub struct ScoredDraft {
    /// Its entries.
    pub drafts: Vec<ScoredEntry>,
}

/// What an entry is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ScoredEntryKind {
    /// A contact.
    Contact,
    /// Something for a person to look at.
    Look,
}

/// One entry.
#[derive(Debug, Clone, Deserialize)]
pub struct ScoredEntry {
    /// What it is.
    pub kind: ScoredEntryKind,
    /// Start in seconds of trip time.
    pub on_s: f64,
    /// End in seconds of trip time.
    pub off_s: f64,
    /// Start, UTC.
    pub on: ScoredField<DateTime<Utc>>,
    /// End, UTC.
    pub off: ScoredField<DateTime<Utc>>,
    /// Call sign.
    pub call: ScoredField<String>,
    /// Frequency in hertz.
    pub hz: ScoredField<u64>,
    /// Rig control's word.
    pub mode: ScoredField<String>,
    /// Own locator.
    pub locator: ScoredField<String>,
    /// Own latitude in degrees.
    pub lat: ScoredField<f64>,
    /// Own longitude in degrees.
    pub lon: ScoredField<f64>,
    /// Report given.
    pub sent: ScoredField<String>,
    /// Report received.
    pub received: ScoredField<String>,
    /// Name.
    pub name: ScoredField<String>,
    /// Whatever else it has of the other station, by the names of the truth; a draft that
    /// does not know a field leaves it out.
    #[serde(default)]
    pub exchanged: BTreeMap<String, ScoredField<String>>,
}

/// One value of an entry.
#[derive(Debug, Clone, Deserialize)]
pub struct ScoredField<T> {
    /// The best one.
    pub value: Option<T>,
    /// How likely it is, where that is said.
    #[serde(default)]
    pub probability: Option<f64>,
    /// Others.
    #[serde(default = "Vec::new")]
    pub alternatives: Vec<ScoredAlternative<T>>,
}

/// Another value.
#[derive(Debug, Clone, Deserialize)]
pub struct ScoredAlternative<T> {
    /// The value.
    pub value: T,
}

impl<T> Default for ScoredField<T> {
    fn default() -> Self {
        Self {
            value: None,
            probability: None,
            alternatives: Vec::new(),
        }
    }
}

impl<T> ScoredField<T> {
    /// The field with every value changed.
    pub(super) fn map(&self, change: impl Fn(&T) -> T) -> Self {
        let other = |other: &ScoredAlternative<T>| ScoredAlternative {
            value: change(&other.value),
        };
        Self {
            value: self.value.as_ref().map(&change),
            probability: self.probability,
            alternatives: self.alternatives.iter().map(other).collect(),
        }
    }
}

impl ScoredEntry {
    /// Start and end in seconds since the start of the drive: by UTC where the
    /// draft knows it, else in trip time.
    pub(super) fn span_s(&self, start: DateTime<Utc>) -> (f64, f64) {
        match (self.on.value, self.off.value) {
            (Some(on), Some(off)) => (seconds_since(start, on), seconds_since(start, off)),
            _ => (self.on_s, self.off_s),
        }
    }
}

pub(super) fn seconds_since(start: DateTime<Utc>, utc: DateTime<Utc>) -> f64 {
    (utc - start).num_milliseconds() as f64 / 1e3
}
