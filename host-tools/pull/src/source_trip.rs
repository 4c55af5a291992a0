//! A trip as it is in a source.

use std::time::SystemTime;

use crate::identity::TripEvidence;

/// Bytes of a text file, such as a journal; a journal of a day of driving has 10 MB.
pub(crate) const MAX_TEXT_FILE_BYTES: u64 = 128 << 20;
/// Doubts about one trip that are reported.
const MAX_TRIP_DOUBTS: usize = 50;

/// A trip to be copied.
#[derive(Debug)]
pub(crate) struct SourceTrip {
    /// The name that the board gave it, as far as the trip says; other trips may have the
    /// same.
    pub(crate) name: String,
    /// The name of its folder in the source.
    pub(crate) folder: String,
    /// What distinguishes it from other trips with that name.
    pub(crate) evidence: TripEvidence,
    /// Its files: sound first, then the rest, so that a journal that is copied never lists
    /// a file that is not.
    pub(crate) files: Vec<SourceFile>,
    /// What was left out.
    pub(crate) doubts: Vec<String>,
    /// What is worth knowing.
    pub(crate) notes: Vec<String>,
}

/// A file of a trip.
#[derive(Debug)]
pub(crate) struct SourceFile {
    /// Path in the source.
    pub(crate) path: String,
    /// Path in the trip's folder, with "/" between its parts.
    pub(crate) name: String,
    pub(crate) bytes: u64,
    pub(crate) modified: Option<SystemTime>,
}

impl SourceTrip {
    pub(crate) fn new(name: String, folder: &str, evidence: TripEvidence) -> Self {
        Self {
            name,
            folder: folder.to_owned(),
            evidence,
            files: Vec::new(),
            doubts: Vec::new(),
            notes: Vec::new(),
        }
    }

    /// Adds a doubt; after [`MAX_TRIP_DOUBTS`] the others are only mentioned.
    pub(crate) fn add_doubt(&mut self, doubt: String) {
        match self.doubts.len() {
            0..MAX_TRIP_DOUBTS => self.doubts.push(doubt),
            MAX_TRIP_DOUBTS => self.doubts.push("and more of the same kind".into()),
            _ => {}
        }
    }

    /// Whether its folder has the name that the board gave it.
    pub(crate) fn is_under_its_name(&self) -> bool {
        self.name == self.folder
    }
}

/// Whether a file of a trip is one of its journals.
pub(crate) fn is_journal(name: &str) -> bool {
    name.starts_with("journal") && name.ends_with(".jsonl")
}

/// Whether a file is a WAV file, whose header the board writes again when it closes it.
pub(crate) fn is_wav(name: &str) -> bool {
    name.ends_with(".wav")
}
