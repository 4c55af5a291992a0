//! What is left of a trip whose time as a whole is over: `kept.json` in its folder
//! says which sound files were let go on purpose, and which were packed.

use std::collections::BTreeSet;
use std::fs::File;
use std::io::Read as _;
use std::path::Path;

use serde::{Deserialize, Serialize};

/// The file's name in the trip's folder.
pub const KEPT: &str = "kept.json";

/// A day of short overs has some thousands of files.
const MOST_BYTES: u64 = 16 << 20;

/// What was let go and what was packed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Kept {
    /// The format, 1.
    pub format: u32,
    /// The sound files as they came from the board.
    pub files: Vec<KeptFile>,
}

/// A sound file as it came from the board.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct KeptFile {
    /// From the trip's folder, such as "audio/000003-rx.wav".
    pub path: String,
    /// Its length.
    pub bytes: u64,
    /// The FLAC file that holds its samples now; None when they were let go.
    pub now: Option<String>,
}

impl Kept {
    /// Reads that of a trip's folder; None where the trip is whole, or where the
    /// file cannot be understood (what is missing is damage then).
    pub fn read(dir: &Path) -> Option<Self> {
        let mut text = Vec::new();
        let file = File::open(dir.join(KEPT)).ok()?;
        file.take(MOST_BYTES).read_to_end(&mut text).ok()?;
        let kept: Self = serde_json::from_slice(&text).ok()?;
        (kept.format == 1).then_some(kept)
    }

    /// The paths of those that were let go.
    pub(crate) fn gone(&self) -> BTreeSet<&str> {
        let gone = self.files.iter().filter(|file| file.now.is_none());
        gone.map(|file| file.path.as_str()).collect()
    }
}
