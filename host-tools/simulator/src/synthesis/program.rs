//! Speech programs.

use std::path::Path;
use std::process::Command;

use super::error::SynthesisError;
use super::resample::resample;
use crate::scenario::SpeakerVoice;

/// Says `text` with espeak-ng; gives the clip at 16 kHz.
pub(super) fn espeak(
    voice: &SpeakerVoice,
    text: &str,
    path: &Path,
) -> Result<Vec<f32>, SynthesisError> {
    let mut command = Command::new("espeak-ng");
    command
        .args(["-v", &voice.name])
        .args(["-s", &voice.speed.to_string()])
        .args(["-p", &voice.pitch.to_string()])
        .arg("-w")
        .arg(path)
        .arg("--")
        .arg(text);
    run("espeak-ng", command, voice, text, path)
}

/// flite speaks about this fast when nothing else is asked for, in words a minute.
const FLITE_SPEED: f64 = 165.0;

/// Says `text` with flite; gives the clip at 16 kHz.
pub(super) fn flite(
    voice: &SpeakerVoice,
    text: &str,
    path: &Path,
) -> Result<Vec<f32>, SynthesisError> {
    let stretch = FLITE_SPEED / f64::from(voice.speed.max(1));
    let mut command = Command::new("flite");
    command
        .args(["-voice", &voice.name])
        .args(["--setf", &format!("duration_stretch={stretch:.3}")])
        .args(["-t", text, "-o"])
        .arg(path);
    run("flite", command, voice, text, path)
}

fn run(
    program: &'static str,
    mut command: Command,
    voice: &SpeakerVoice,
    text: &str,
    path: &Path,
) -> Result<Vec<f32>, SynthesisError> {
    let output = command
        .output()
        .map_err(|source| SynthesisError::Start { program, source })?;
    let detail = String::from_utf8_lossy(&output.stderr).trim().to_owned();
    // An unknown voice is only a warning to them, and they go on with another.
    if !output.status.success() || !detail.is_empty() {
        return Err(SynthesisError::Failed {
            program,
            voice: voice.name.clone(),
            text: text.to_owned(),
            detail,
        });
    }
    read(path)
}

/// Reads a WAV file of one or more channels (the first counts); gives it at 16 kHz.
pub(super) fn read(path: &Path) -> Result<Vec<f32>, SynthesisError> {
    let failed = |source| SynthesisError::Read {
        path: path.to_owned(),
        source,
    };
    let mut reader = hound::WavReader::open(path).map_err(failed)?;
    let spec = reader.spec();
    let samples: Result<Vec<f32>, _> = match spec.sample_format {
        hound::SampleFormat::Float => reader.samples::<f32>().collect(),
        hound::SampleFormat::Int => {
            let sample = |sample: Result<i32, _>| sample.map(|sample| sample as f32);
            reader.samples::<i32>().map(sample).collect()
        }
    };
    let clip: Vec<f32> = samples
        .map_err(failed)?
        .into_iter()
        .step_by(usize::from(spec.channels.max(1)))
        .collect();
    Ok(resample(&clip, spec.sample_rate))
}
