//! The voices of the module py-nanotts of Python: Pico.

use std::path::Path;
use std::process::Command;

use super::error::SynthesisError;
use super::program::{self, SpeechPrograms};
use super::tuning::{pitch_factor, tempo_factor};
use crate::scenario::SpeakerVoice;

/// Writes what it says to files named by line.
const SCRIPT: &str = include_str!("pico.py");

/// It speaks about this fast when nothing else is asked for, in words a minute.
const USUAL_SPEED: f64 = 155.0;

/// What to install.
const INSTALL: &str =
    "py-nanotts for Python (pip install py-nanotts), and name that Python in PICO_PYTHON";

/// Says each line of `texts`, which have words in them; gives the clips at 16 kHz.
pub(super) fn pico(
    programs: &SpeechPrograms,
    voice: &SpeakerVoice,
    texts: &[String],
    folder: &Path,
) -> Result<Vec<Vec<f32>>, SynthesisError> {
    let lines = program::write_lines(texts, folder)?;
    let mut command = Command::new(&programs.pico_python);
    command
        .current_dir(folder)
        .args(["-c", SCRIPT])
        .arg(lines)
        .arg(&voice.name)
        .arg(format!("{:.3}", tempo_factor(voice, USUAL_SPEED)))
        .arg(format!("{:.3}", pitch_factor(voice)));
    let output = program::output("Python with py-nanotts", INSTALL, command)?;
    let detail = program::last_line(&output.stderr);
    // The script's own, where the module is absent.
    if output.status.code() == Some(127) {
        return Err(SynthesisError::Start {
            program: "py-nanotts",
            install: INSTALL,
            source: std::io::Error::new(std::io::ErrorKind::NotFound, detail),
        });
    }
    if !output.status.success() {
        return Err(program::failed("py-nanotts", voice, texts, detail));
    }
    program::read_numbered(texts.len(), folder, 1.0)
}
