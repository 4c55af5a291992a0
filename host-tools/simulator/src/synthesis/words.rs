//! A speaker who was recorded word by word.

use std::collections::HashMap;
use std::path::Path;

use super::error::SynthesisError;
use super::level::active_level;
use super::{level, program};
use crate::random::SeededRandom;
use crate::scenario::{SpeakerVoice, VoiceFamily};
use crate::sound::units::SCRIPT_SAMPLE_RATE;

/// People pause this long between words that they say one by one, in seconds.
const GAP_S: (f64, f64) = (0.05, 0.14);

/// Who says what was not recorded.
const STAND_IN: &str = "en-us+m1";

/// The words of a recorded speaker.
#[derive(Debug)]
pub(super) struct RecordedWords {
    words: HashMap<String, Vec<f32>>,
}

impl RecordedWords {
    /// Reads a folder of files named by word: `alfa.wav` to `zulu.wav`, `0.wav`
    /// to `9.wav`, and any others.
    pub(super) fn read(folder: &Path) -> Result<Self, SynthesisError> {
        let mut words = HashMap::new();
        let found = std::fs::read_dir(folder).map_err(|source| SynthesisError::Read {
            path: folder.to_owned(),
            source: source.into(),
        })?;
        for entry in found.flatten() {
            let path = entry.path();
            let is_wav = path.extension().is_some_and(|name| name == "wav");
            let Some(word) = path.file_stem().filter(|_| is_wav) else {
                continue;
            };
            let mut clip = level::trim(program::read(&path)?);
            let loudness = active_level(&clip).max(f32::MIN_POSITIVE);
            clip.iter_mut().for_each(|sample| *sample /= loudness);
            words.insert(word.to_string_lossy().to_lowercase(), clip);
        }
        let needed = crate::scenario::SPELLING.map(str::to_lowercase);
        let figures = (0..10).map(|figure: u32| figure.to_string());
        let mut needed = needed.into_iter().chain(figures);
        match needed.find(|word| !words.contains_key(word)) {
            None => Ok(Self { words }),
            Some(missing) => Err(SynthesisError::Missing {
                path: folder.to_owned(),
                missing,
            }),
        }
    }

    /// Says `text`: recorded words one after the other, and a synthetic voice for
    /// the runs of words between them that were not recorded.
    pub(super) fn say(
        &self,
        voice: &SpeakerVoice,
        text: &str,
        path: &Path,
    ) -> Result<Vec<f32>, SynthesisError> {
        let stand_in = SpeakerVoice {
            family: VoiceFamily::Espeak,
            name: STAND_IN.to_owned(),
            ..voice.clone()
        };
        let mut random = SeededRandom::stream(text.len() as u64, text);
        let mut clip = Vec::new();
        let mut others: Vec<&str> = Vec::new();
        let add = |clip: &mut Vec<f32>, word: &[f32], gap_s: f64| {
            clip.extend_from_slice(word);
            clip.resize(
                clip.len() + (gap_s * f64::from(SCRIPT_SAMPLE_RATE)) as usize,
                0.0,
            );
        };
        for word in text.split_whitespace().map(Some).chain([None]) {
            let known = word.and_then(|word| self.words.get(&key(word)));
            if let (Some(word), None) = (word, known) {
                others.push(word);
                continue;
            }
            if !others.is_empty() {
                let said = program::espeak(&stand_in, &others.join(" "), path)?;
                let mut said = level::trim(said);
                let loudness = active_level(&said).max(f32::MIN_POSITIVE);
                said.iter_mut().for_each(|sample| *sample /= loudness);
                add(&mut clip, &said, GAP_S.1);
                others.clear();
            }
            if let Some(known) = known {
                add(&mut clip, known, random.between(GAP_S.0, GAP_S.1));
            }
        }
        Ok(clip)
    }
}

/// The file's name for a word: figures as figures, nothing but letters and figures.
fn key(word: &str) -> String {
    const FIGURES: [&str; 10] = [
        "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine",
    ];
    let word: String = word
        .chars()
        .filter(|symbol| symbol.is_alphanumeric() || *symbol == '-')
        .collect::<String>()
        .to_lowercase();
    match FIGURES.iter().position(|figure| *figure == word) {
        Some(figure) => figure.to_string(),
        None => word,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_is_found_whatever_stands_around_it() {
        for (word, file) in [("Kilo,", "kilo"), ("five.", "5"), ("X-ray", "x-ray")] {
            assert_eq!(key(word), file);
        }
    }
}
