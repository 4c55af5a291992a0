//! What a pull did about one trip.

use serde::Serialize;

use crate::identity::TripIdentity;

/// What a pull did about one trip.
#[derive(Debug)]
pub struct PullReport {
    /// Its name in the library.
    pub trip: String,
    /// Board and operator, as far as the trip says.
    pub identity: TripIdentity,
    /// Files copied.
    pub copied: usize,
    /// Bytes in them.
    pub bytes: u64,
    /// Files that were in the library before.
    pub present: usize,
    /// The trip is still being recorded: only its closed files were copied.
    pub running: bool,
    /// Files that were not copied; the next pull tries again.
    pub missing: Vec<MissingFile>,
    /// What a person should look at.
    pub doubts: Vec<String>,
    /// What is worth knowing but needs no action.
    pub notes: Vec<String>,
}

/// A file that could not be copied.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct MissingFile {
    /// The trip's name in the library.
    pub trip: String,
    /// Path in the trip's folder.
    pub file: String,
    /// Why.
    pub error: String,
}

impl PullReport {
    /// Whether a person should look at the trip.
    #[must_use]
    pub fn is_doubtful(&self) -> bool {
        !self.doubts.is_empty() || !self.missing.is_empty()
    }

    /// A report about a trip of which nothing was copied yet.
    pub(crate) fn new(trip: String, doubts: Vec<String>, notes: Vec<String>) -> Self {
        Self {
            trip,
            identity: TripIdentity::default(),
            copied: 0,
            bytes: 0,
            present: 0,
            running: false,
            missing: Vec::new(),
            doubts,
            notes,
        }
    }
}
