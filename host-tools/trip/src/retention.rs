//! `kept.json`: which sound files of a trip were removed on purpose once its contacts were
//! confirmed, and which were packed as FLAC.

use std::collections::BTreeSet;
use std::io::{self, Read as _};
use std::path::Path;

use jumpseat_files::open_regular_file;
use serde::{Deserialize, Serialize};

use crate::journal::segment_of_name;

/// The file's name in the trip's folder.
pub const RETENTION_FILE: &str = "kept.json";

/// A day of short overs has some thousands of files.
const MOST_RETENTION_BYTES: u64 = 16 << 20;

/// The sound files that were removed or packed.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct RetentionManifest {
    /// The format, 1.
    pub format: u32,
    /// The sound files as they came from the board.
    pub files: Vec<RetainedFile>,
}

/// A sound file as it came from the board.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RetainedFile {
    /// From the trip's folder, such as "audio/000003-rx.wav".
    pub path: String,
    /// Its length.
    pub bytes: u64,
    /// The FLAC file that holds its samples now; `None` when they were removed.
    pub now: Option<String>,
}

/// Why bytes are not a kept.json.
#[derive(Debug, thiserror::Error)]
pub enum RetentionFault {
    /// It is not what `jumpseat keep` writes.
    #[error("{0}")]
    Json(#[from] serde_json::Error),
    /// A format that this program does not know.
    #[error("there is no format {0}")]
    Format(u32),
    /// A name that no sound file of a trip has: nothing outside `audio` is ever packed
    /// or removed.
    #[error("{0:?} is not the name of a sound file of a trip")]
    Name(String),
}

impl RetentionManifest {
    /// Reads that of a trip's folder; `None` where there is none, or where it cannot be
    /// understood (missing files are damage then).
    pub fn read(dir: &Path) -> Option<Self> {
        Self::load(dir).ok().flatten()
    }

    /// Reads that of a trip's folder, if there is one. `Err` says in plain words why it
    /// cannot be understood.
    pub(crate) fn load(dir: &Path) -> Result<Option<Self>, String> {
        let mut text = Vec::new();
        let file = match open_regular_file(&dir.join(RETENTION_FILE)) {
            Ok(file) => file,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(error.to_string()),
        };
        file.take(MOST_RETENTION_BYTES)
            .read_to_end(&mut text)
            .map_err(|error| error.to_string())?;
        match Self::parse(&text) {
            Ok(kept) => Ok(Some(kept)),
            Err(fault) => Err(fault.to_string()),
        }
    }

    /// Reads the text of a kept.json.
    ///
    /// # Errors
    /// [`RetentionFault`] says why it is not one.
    pub fn parse(text: &[u8]) -> Result<Self, RetentionFault> {
        let kept: Self = serde_json::from_slice(text)?;
        if kept.format != 1 {
            return Err(RetentionFault::Format(kept.format));
        }
        let names = kept
            .files
            .iter()
            .flat_map(|file| std::iter::once(&file.path).chain(&file.now));
        for name in names {
            let sound = name.strip_prefix("audio/").and_then(segment_of_name);
            if sound.is_none() {
                return Err(RetentionFault::Name(name.clone()));
            }
        }
        Ok(kept)
    }

    /// The paths of those that were removed.
    pub(crate) fn removed_paths(&self) -> BTreeSet<&str> {
        let gone = self.files.iter().filter(|file| file.now.is_none());
        gone.map(|file| file.path.as_str()).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(format: u32, path: &str, now: Option<&str>, expected: &str) {
        let text = serde_json::json!({"format": format, "files": [
            {"path": "audio/000001-rx.wav", "bytes": 44, "now": null},
            {"path": path, "bytes": 44, "now": now},
        ]});
        let words = match RetentionManifest::parse(text.to_string().as_bytes()) {
            Ok(kept) => format!("{} files", kept.files.len()),
            Err(fault) => fault.to_string(),
        };
        assert!(words.contains(expected), "{words}");
    }

    #[test]
    fn what_was_kept_is_sound_of_the_trip_and_nothing_else() {
        let sound = "audio/000003-rx.wav";
        check(1, sound, Some("audio/000003-rx.flac"), "2 files");
        check(1, "audio/1234567-tx.flac", None, "2 files");
        check(2, sound, None, "no format 2");
        for name in [
            "../../x",
            "audio/../000003-rx.wav",
            "audio/../../000003-rx.wav",
            "/etc/passwd",
            "audio//000003-rx.wav",
            "audio\\..\\000003-rx.wav",
            "audio/000003-rx.wav/..",
            "journal.jsonl",
            "000003-rx.wav",
            "audio/",
            "",
        ] {
            check(1, name, None, "not the name of a sound file");
            check(1, sound, Some(name), "not the name of a sound file");
        }
        assert!(RetentionManifest::parse(b"[").is_err());
    }
}
