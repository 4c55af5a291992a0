//! The voices of the program festival.

use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;

use super::error::SynthesisError;
use super::program;
use super::tuning::{pitch_factor, tempo_factor};
use crate::scenario::SpeakerVoice;

/// It speaks about this fast when nothing else is asked for, in words a minute.
const USUAL_SPEED: f64 = 155.0;

/// What to install.
const INSTALL: &str = "the packages festival, festvox-us-slt-hts, festvox-kallpc16k \
                       and festvox-kdlpc16k";

/// Says each line of `texts`, which have words in them; gives the clips at 16 kHz.
///
/// Not all its voices have a pitch to set: see [`program::read_at_pitch`].
pub(super) fn festival(
    voice: &SpeakerVoice,
    texts: &[String],
    folder: &Path,
) -> Result<Vec<Vec<f32>>, SynthesisError> {
    let failed = |detail: String| program::failed("festival", voice, texts, detail);
    let is_symbol = |symbol: char| symbol.is_ascii_alphanumeric() || symbol == '_';
    if voice.name.is_empty() || !voice.name.chars().all(is_symbol) {
        return Err(failed("no name of a voice".to_owned()));
    }
    let path = folder.join("lines.scm");
    std::fs::write(&path, scheme(voice, texts)).map_err(SynthesisError::Folder)?;
    let mut command = Command::new("festival");
    command.current_dir(folder).arg("-b").arg(&path);
    let output = program::output("festival", INSTALL, command)?;
    if output.status.success() {
        return program::read_numbered(texts.len(), folder, pitch_factor(voice));
    }
    let detail = String::from_utf8_lossy(&output.stderr).trim().to_owned();
    Err(if detail.contains("unbound variable : voice_") {
        SynthesisError::Voice {
            program: "festival",
            voice: voice.name.clone(),
            install: INSTALL,
        }
    } else {
        failed(detail)
    })
}

/// What festival is to do.
fn scheme(voice: &SpeakerVoice, texts: &[String]) -> String {
    let rate = tempo_factor(voice, USUAL_SPEED) / pitch_factor(voice);
    let mut scheme = format!("(voice_{})\n", voice.name);
    // The tempo of voices of diphones (kal, ked), and of models (slt).
    let _ = writeln!(
        scheme,
        "(Parameter.set 'Duration_Stretch {:.3})\n\
         (if (symbol-bound? 'hts_engine_params) (set! hts_engine_params \
         (append hts_engine_params '((\"-r\" {rate:.3})))))",
        1.0 / rate,
    );
    for (number, text) in texts.iter().enumerate() {
        let text = text.replace(['\\', '"'], " ");
        let _ = writeln!(
            scheme,
            "(utt.save.wave (utt.synth (Utterance Text \"{text}\")) \"{number}.wav\" 'riff)"
        );
    }
    scheme
}
