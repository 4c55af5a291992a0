//! What kind of drive is wanted.

use std::path::PathBuf;

use clap::ValueEnum;

/// How hard it is to hear, and how busy the operator is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum DriveDifficulty {
    /// Strong signals on quiet bands.
    Easy,
    /// As it is on the road.
    Road,
    /// Weak signals, disturbed bands, a loud car.
    Hard,
}

/// What kind of drive is wanted.
#[derive(Debug, Clone)]
pub struct DriveWish {
    /// Everything follows from it.
    pub seed: u64,
    /// Length in hours.
    pub hours: f64,
    /// Contacts an hour, on average.
    pub contacts_per_hour: f64,
    /// How hard.
    pub difficulty: DriveDifficulty,
    /// Folders of word recordings, one a speaker.
    pub voices: Vec<PathBuf>,
    /// Whether the operator presses the mark button at all.
    pub marks: bool,
}
