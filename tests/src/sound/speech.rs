//! Synthetic voices: words to samples, by the program espeak-ng.

use std::collections::HashMap;
use std::path::PathBuf;
use std::process::Command;
use std::sync::Arc;

use super::{RATE, filter};
use crate::scenario::Voice;

/// Spoken words at 16 kHz.
#[derive(Debug, Clone)]
pub struct Speech(Arc<[f32]>);

impl Speech {
    /// Length in seconds.
    pub fn seconds(&self) -> f64 {
        self.0.len() as f64 / f64::from(RATE)
    }

    /// The samples; the active parts have a root mean square of 1.
    pub fn samples(&self) -> &[f32] {
        &self.0
    }
}

/// Why nothing was spoken.
#[derive(Debug, thiserror::Error)]
pub enum SpeechError {
    /// The program is absent.
    #[error("cannot start espeak-ng: {0}; install the package espeak-ng")]
    Start(std::io::Error),
    /// It does not know the voice, or failed otherwise.
    #[error("espeak-ng could not say \"{text}\" with the voice {voice}: {detail}")]
    Failed {
        /// The voice asked for.
        voice: String,
        /// The words.
        text: String,
        /// What it said about it.
        detail: String,
    },
    /// There is no place for its output.
    #[error("cannot make a temporary folder: {0}; look at TMPDIR and the free space there")]
    Folder(std::io::Error),
    /// Its output is no WAV file.
    #[error("cannot read the speech in {}: {source}", path.display())]
    Read {
        /// Where it is.
        path: PathBuf,
        /// Why not.
        source: hound::Error,
    },
}

/// Speaks, and remembers what it has spoken.
#[derive(Debug)]
pub struct Speaker {
    spoken: HashMap<(Voice, String), Speech>,
    folder: tempfile::TempDir,
}

impl Speaker {
    /// A speaker with nothing spoken yet.
    pub fn new() -> Result<Self, SpeechError> {
        let folder = tempfile::tempdir().map_err(SpeechError::Folder)?;
        Ok(Self {
            spoken: HashMap::new(),
            folder,
        })
    }

    /// Says `text`: silence trimmed at both ends, active level 1.
    pub fn speak(&mut self, voice: &Voice, text: &str) -> Result<Speech, SpeechError> {
        let key = (voice.clone(), text.to_owned());
        if let Some(speech) = self.spoken.get(&key) {
            return Ok(speech.clone());
        }
        let path = self.folder.path().join("speech.wav");
        let output = Command::new("espeak-ng")
            .args(["-v", &voice.name])
            .args(["-s", &voice.speed.to_string()])
            .args(["-p", &voice.pitch.to_string()])
            .arg("-w")
            .arg(&path)
            .arg("--")
            .arg(text)
            .output()
            .map_err(SpeechError::Start)?;
        let detail = String::from_utf8_lossy(&output.stderr).trim().to_owned();
        // An unknown voice is only a warning to it, and it goes on with another.
        if !output.status.success() || !detail.is_empty() {
            return Err(SpeechError::Failed {
                voice: voice.name.clone(),
                text: text.to_owned(),
                detail,
            });
        }
        let (rate, clip) = read(&path).map_err(|source| SpeechError::Read { path, source })?;
        let mut clip = trim(filter::resample(&clip, rate));
        let level = active_level(&clip).max(f32::MIN_POSITIVE);
        clip.iter_mut().for_each(|sample| *sample /= level);
        let speech = Speech(clip.into());
        self.spoken.insert(key, speech.clone());
        Ok(speech)
    }
}

fn read(path: &std::path::Path) -> Result<(u32, Vec<f32>), hound::Error> {
    let mut reader = hound::WavReader::open(path)?;
    let rate = reader.spec().sample_rate;
    let samples: Result<Vec<i16>, _> = reader.samples().collect();
    Ok((rate, samples?.into_iter().map(f32::from).collect()))
}

/// 20 ms.
const FRAME: usize = RATE as usize / 50;

/// The root mean square over the frames that are within 25 dB of the loudest.
pub(crate) fn active_level(clip: &[f32]) -> f32 {
    let powers: Vec<f32> = clip.chunks(FRAME).map(power).collect();
    let loudest = powers.iter().copied().fold(0.0, f32::max);
    let active: Vec<f32> = powers
        .into_iter()
        .filter(|&power| power > loudest * 10_f32.powf(-2.5))
        .collect();
    (active.iter().sum::<f32>() / active.len().max(1) as f32).sqrt()
}

fn power(frame: &[f32]) -> f32 {
    frame.iter().map(|x| x * x).sum::<f32>() / frame.len() as f32
}

/// Cuts the frames at either end that are more than 40 dB below the loudest.
fn trim(clip: Vec<f32>) -> Vec<f32> {
    let powers: Vec<f32> = clip.chunks(FRAME).map(power).collect();
    let floor = powers.iter().copied().fold(0.0, f32::max) * 1e-4;
    let first = powers.iter().position(|&power| power > floor).unwrap_or(0);
    let last = powers.iter().rposition(|&power| power > floor).unwrap_or(0);
    clip.into_iter()
        .take((last + 1) * FRAME)
        .skip(first * FRAME)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn silence_around_the_words_is_cut_and_does_not_count_for_the_level() {
        let mut clip = vec![0.0; 5 * FRAME];
        clip.extend((0..10 * FRAME).map(|n| if n % 2 == 0 { 0.5 } else { -0.5 }));
        clip.extend(vec![0.0; 7 * FRAME]);
        assert!((active_level(&clip) - 0.5).abs() < 1e-6);
        assert_eq!(trim(clip).len(), 10 * FRAME);
    }
}
