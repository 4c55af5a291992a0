//! Speaks words, with speech programs or from recordings of single words.

mod batch;
mod error;
mod festival;
mod letters;
mod level;
mod pico;
mod piper;
mod program;
mod resample;
#[cfg(test)]
mod tests;
mod tuning;
mod words;

use std::collections::HashMap;
use std::sync::Arc;
use std::thread;

use crate::scenario::{SpeakerVoice, VoiceFamily};
use crate::sound::units::SCRIPT_SAMPLE_RATE;

use batch::SpokenLine;
pub use error::SynthesisError;
use letters::spoken_letters;
pub(crate) use level::active_level;

/// Spoken words at 16 kHz.
#[derive(Debug, Clone)]
pub struct SpokenClip(Arc<[f32]>);

impl SpokenClip {
    /// Silence trimmed at both ends, active level 1.
    fn from_clip(clip: Vec<f32>) -> Self {
        let mut clip = level::trim(clip);
        let level = active_level(&clip).max(f32::MIN_POSITIVE);
        clip.iter_mut().for_each(|sample| *sample /= level);
        Self(clip.into())
    }

    /// Length in seconds.
    pub fn seconds(&self) -> f64 {
        self.0.len() as f64 / f64::from(SCRIPT_SAMPLE_RATE)
    }

    /// The samples; the active parts have a root mean square of 1.
    pub fn samples(&self) -> &[f32] {
        &self.0
    }
}

/// Speaks, and remembers what it has spoken.
#[derive(Debug)]
pub struct SpeechSynthesiser {
    spoken: HashMap<SpokenLine, SpokenClip>,
    recorded: HashMap<String, words::RecordedWords>,
    programs: program::SpeechPrograms,
    folder: tempfile::TempDir,
}

impl SpeechSynthesiser {
    /// A speaker with nothing spoken yet.
    pub fn new() -> Result<Self, SynthesisError> {
        let folder = tempfile::tempdir().map_err(SynthesisError::Folder)?;
        Ok(Self {
            spoken: HashMap::new(),
            recorded: HashMap::new(),
            programs: program::SpeechPrograms::from_environment(),
            folder,
        })
    }

    /// Says all of these ahead, on every core; calls `progress` with the fraction done.
    pub fn prepare(
        &mut self,
        lines: &[SpokenLine],
        progress: &mut dyn FnMut(f64),
    ) -> Result<(), SynthesisError> {
        for (voice, _) in lines {
            self.record(voice)?;
        }
        let mut wanted: Vec<&SpokenLine> = Vec::new();
        for line in lines {
            if !self.spoken.contains_key(line) && !wanted.contains(&line) {
                wanted.push(line);
            }
        }
        let cores = thread::available_parallelism().map_or(1, usize::from);
        let batches = batch::batches(&wanted, cores);
        let spoken = batch::on_every_core(
            &batches,
            cores,
            |batch| self.say(batch.voice, &batch.texts),
            progress,
        )?;
        for (batch, speech) in spoken {
            for (text, speech) in batch.texts.iter().zip(speech) {
                let line = (batch.voice.clone(), (*text).to_owned());
                self.spoken.insert(line, speech);
            }
        }
        Ok(())
    }

    /// Says `text`.
    pub fn speak(
        &mut self,
        voice: &SpeakerVoice,
        text: &str,
    ) -> Result<SpokenClip, SynthesisError> {
        let key = (voice.clone(), text.to_owned());
        if let Some(speech) = self.spoken.get(&key) {
            return Ok(speech.clone());
        }
        self.record(voice)?;
        let mut said = self.say(voice, &[text])?;
        let speech = said
            .pop()
            .unwrap_or_else(|| SpokenClip::from_clip(Vec::new()));
        self.spoken.insert(key, speech.clone());
        Ok(speech)
    }

    /// Reads the recordings of a voice that has some.
    fn record(&mut self, voice: &SpeakerVoice) -> Result<(), SynthesisError> {
        if voice.family == VoiceFamily::Words && !self.recorded.contains_key(&voice.name) {
            let read = words::RecordedWords::read(voice.name.as_ref())?;
            self.recorded.insert(voice.name.clone(), read);
        }
        Ok(())
    }

    /// Several may speak at a time.
    fn say(&self, voice: &SpeakerVoice, texts: &[&str]) -> Result<Vec<SpokenClip>, SynthesisError> {
        let folder = tempfile::tempdir_in(self.folder.path()).map_err(SynthesisError::Folder)?;
        let folder = folder.path();
        let path = folder.join("speech.wav");
        let texts: Vec<String> = texts.iter().map(|text| spoken_letters(text)).collect();
        let one_by_one = |say: &dyn Fn(&str) -> Result<Vec<f32>, SynthesisError>| {
            texts.iter().map(|text| say(text)).collect()
        };
        let clips: Result<Vec<_>, _> = match voice.family {
            VoiceFamily::Espeak => one_by_one(&|text| program::espeak(voice, text, &path)),
            VoiceFamily::Flite => one_by_one(&|text| program::flite(voice, text, &path)),
            VoiceFamily::Festival => {
                batch::with_words(&texts, |texts| festival::festival(voice, texts, folder))
            }
            VoiceFamily::Piper => batch::with_words(&texts, |texts| {
                piper::piper(&self.programs, voice, texts, folder)
            }),
            VoiceFamily::Pico => batch::with_words(&texts, |texts| {
                pico::pico(&self.programs, voice, texts, folder)
            }),
            VoiceFamily::Words => match self.recorded.get(&voice.name) {
                Some(recorded) => one_by_one(&|text| recorded.say(voice, text, &path)),
                None => Ok(vec![Vec::new(); texts.len()]),
            },
        };
        Ok(clips?.into_iter().map(SpokenClip::from_clip).collect())
    }
}
