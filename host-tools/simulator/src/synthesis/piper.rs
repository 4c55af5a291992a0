//! The voices of the program piper.

use std::path::{Path, PathBuf};
use std::process::Command;

use super::error::SynthesisError;
use super::program::{self, SpeechPrograms};
use super::tuning::{pitch_factor, tempo_factor};
use crate::scenario::SpeakerVoice;

/// Its voices speak about this fast when nothing else is asked for, in words a minute.
const USUAL_SPEED: f64 = 172.0;

/// What to install.
const INSTALL: &str = "piper-tts for Python (pip install piper-tts), and name its program in PIPER";

/// Says each line of `texts`, which have words in them; gives the clips at 16 kHz.
///
/// Its voices have no pitch to set: see [`program::read_at_pitch`].
pub(super) fn piper(
    programs: &SpeechPrograms,
    voice: &SpeakerVoice,
    texts: &[String],
    folder: &Path,
) -> Result<Vec<Vec<f32>>, SynthesisError> {
    let pitch = pitch_factor(voice);
    let clips = folder.join("clips");
    let mut command = Command::new(&programs.piper);
    command
        .arg("--input-file")
        .arg(program::write_lines(texts, folder)?)
        .arg("--output-dir")
        .arg(&clips)
        .arg("--model")
        .arg(&voice.name)
        .arg("--length-scale")
        .arg(format!("{:.3}", pitch / tempo_factor(voice, USUAL_SPEED)))
        // Its chance has no seed, and the same seed must give the same drive.
        .args(["--noise-scale", "0", "--noise-w-scale", "0"]);
    let output = program::output("piper", INSTALL, command)?;
    if !output.status.success() {
        let detail = program::last_line(&output.stderr);
        return Err(program::failed("piper", voice, texts, detail));
    }
    let written = written(&clips)?;
    if written.len() != texts.len() {
        let detail = format!("{} clips for {} lines", written.len(), texts.len());
        return Err(program::failed("piper", voice, texts, detail));
    }
    let read = |(_, path): &(u64, PathBuf)| program::read_at_pitch(path, pitch);
    written.iter().map(read).collect()
}

/// The clips in the order in which they were written: their names are times.
fn written(clips: &Path) -> Result<Vec<(u64, PathBuf)>, SynthesisError> {
    let entries = std::fs::read_dir(clips).map_err(SynthesisError::Folder)?;
    let time = |path: &Path| path.file_stem()?.to_str()?.parse().ok();
    let mut written: Vec<(u64, PathBuf)> = entries
        .flatten()
        .filter_map(|entry| Some((time(&entry.path())?, entry.path())))
        .collect();
    written.sort();
    Ok(written)
}
