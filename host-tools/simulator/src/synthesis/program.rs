//! Speech programs: how they are run and what they write.

use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use super::error::SynthesisError;
use super::resample::resample;
use crate::scenario::SpeakerVoice;

/// Programs that are found in more than one way.
#[derive(Debug)]
pub(super) struct SpeechPrograms {
    /// The program piper.
    pub(super) piper: OsString,
    /// A Python that has the module py-nanotts.
    pub(super) pico_python: OsString,
}

impl SpeechPrograms {
    /// Where the variables `PIPER` and `PICO_PYTHON` say, or on the `PATH`.
    pub(super) fn from_environment() -> Self {
        let named = |name, usual: &str| std::env::var_os(name).unwrap_or_else(|| usual.into());
        Self {
            piper: named("PIPER", "piper"),
            pico_python: named("PICO_PYTHON", "python3"),
        }
    }
}

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
    run(
        "espeak-ng",
        "the package espeak-ng",
        command,
        voice,
        text,
        path,
    )
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
    let say = |name: &str| {
        let mut command = Command::new("flite");
        command
            .args(["-voice", name])
            .args(["--setf", &format!("duration_stretch={stretch:.3}")])
            .args(["-t", text, "-o"])
            .arg(path);
        run("flite", "the package flite", command, voice, text, path)
    };
    match say(&voice.name) {
        // Its voices of joined pairs of sounds lack pairs that foreign words have.
        Err(SynthesisError::Failed { detail, .. }) if detail.contains(LACKS_A_PAIR) => {
            say(FLITE_WITHOUT_PAIRS)
        }
        said => said,
    }
}

/// What flite writes where a voice lacks a pair of sounds.
const LACKS_A_PAIR: &str = "failed to find entry";
/// A voice of flite that makes its sounds from statistics and lacks none.
const FLITE_WITHOUT_PAIRS: &str = "rms";

fn run(
    program: &'static str,
    install: &'static str,
    command: Command,
    voice: &SpeakerVoice,
    text: &str,
    path: &Path,
) -> Result<Vec<f32>, SynthesisError> {
    let output = output(program, install, command)?;
    let detail = String::from_utf8_lossy(&output.stderr).trim().to_owned();
    // An unknown voice is only a warning to them, and they go on with another.
    if !output.status.success() || !detail.is_empty() {
        return Err(failed(program, voice, &[text.to_owned()], detail));
    }
    read(path)
}

/// Runs a program to its end.
pub(super) fn output(
    program: &'static str,
    install: &'static str,
    mut command: Command,
) -> Result<Output, SynthesisError> {
    command.output().map_err(|source| SynthesisError::Start {
        program,
        install,
        source,
    })
}

/// A program that could not say these.
pub(super) fn failed(
    program: &'static str,
    voice: &SpeakerVoice,
    texts: &[String],
    detail: String,
) -> SynthesisError {
    SynthesisError::Failed {
        program,
        voice: voice.name.clone(),
        characters: texts.iter().map(|text| text.chars().count()).sum(),
        detail,
    }
}

/// The last line that a program wrote: of a failed Python, the reason.
pub(super) fn last_line(written: &[u8]) -> String {
    let written = String::from_utf8_lossy(written);
    written.trim().lines().last().unwrap_or_default().to_owned()
}

/// Writes a file with a line for each of `texts`, which have words in them.
pub(super) fn write_lines(texts: &[String], folder: &Path) -> Result<PathBuf, SynthesisError> {
    let path = folder.join("lines.txt");
    let lines: Vec<String> = texts
        .iter()
        .map(|text| text.split_whitespace().collect::<Vec<_>>().join(" "))
        .collect();
    std::fs::write(&path, lines.join("\n") + "\n").map_err(SynthesisError::Folder)?;
    Ok(path)
}

/// Reads `0.wav` to the last of `count` files as [`read_at_pitch`] does.
pub(super) fn read_numbered(
    count: usize,
    folder: &Path,
    pitch: f64,
) -> Result<Vec<Vec<f32>>, SynthesisError> {
    (0..count)
        .map(|number| read_at_pitch(&folder.join(format!("{number}.wav")), pitch))
        .collect()
}

/// Reads a WAV file for a voice whose pitch cannot be set: plays it faster by the factor
/// `pitch`, which it was spoken slower. That changes the size of the head too, and makes
/// another speaker of it.
pub(super) fn read_at_pitch(path: &Path, pitch: f64) -> Result<Vec<f32>, SynthesisError> {
    let (clip, rate) = read_raw(path)?;
    Ok(resample(&clip, (f64::from(rate) * pitch).round() as u32))
}

/// Reads a WAV file of one or more channels (the first counts); gives it at 16 kHz.
pub(super) fn read(path: &Path) -> Result<Vec<f32>, SynthesisError> {
    let (clip, rate) = read_raw(path)?;
    Ok(resample(&clip, rate))
}

/// The same with its own rate, in hertz.
fn read_raw(path: &Path) -> Result<(Vec<f32>, u32), SynthesisError> {
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
    Ok((clip, spec.sample_rate))
}
