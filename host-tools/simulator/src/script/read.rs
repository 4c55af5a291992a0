//! Reads the files of a script.

use std::fs;
use std::path::Path;

use super::error::ScriptError;
use super::event::DriveScriptEvent;
use super::files::{EVENTS_FILE, SOUND_FILE};

/// Reads the events of the script in `folder`.
pub fn read_events(folder: &Path) -> Result<Vec<DriveScriptEvent>, ScriptError> {
    let path = folder.join(EVENTS_FILE);
    let text = fs::read_to_string(&path).map_err(ScriptError::file(&path))?;
    let parse = |(index, line)| {
        serde_json::from_str(line).map_err(|source| ScriptError::Line {
            path: path.clone(),
            line: index + 1,
            source,
        })
    };
    text.lines().enumerate().map(parse).collect()
}

/// Reads the sound of the script in `folder`: pairs of receive and transmit.
pub fn read_sound(folder: &Path) -> Result<Vec<[i16; 2]>, hound::Error> {
    let mut reader = hound::WavReader::open(folder.join(SOUND_FILE))?;
    let samples: Result<Vec<i16>, _> = reader.samples().collect();
    Ok(samples?.as_chunks::<2>().0.to_vec())
}
