//! Speaks words, with the programs espeak-ng and flite or from recordings of single words.

mod error;
mod letters;
mod level;
mod program;
mod resample;
mod words;

use std::collections::HashMap;
use std::sync::Arc;
use std::thread;

use crate::scenario::{SpeakerVoice, VoiceFamily};
use crate::sound::units::SCRIPT_SAMPLE_RATE;

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
    spoken: HashMap<(SpeakerVoice, String), SpokenClip>,
    recorded: HashMap<String, words::RecordedWords>,
    folder: tempfile::TempDir,
}

impl SpeechSynthesiser {
    /// A speaker with nothing spoken yet.
    pub fn new() -> Result<Self, SynthesisError> {
        let folder = tempfile::tempdir().map_err(SynthesisError::Folder)?;
        Ok(Self {
            spoken: HashMap::new(),
            recorded: HashMap::new(),
            folder,
        })
    }

    /// Says all of these ahead, on every core; calls `progress` with the fraction done.
    pub fn prepare(
        &mut self,
        lines: &[(SpeakerVoice, String)],
        progress: &mut dyn FnMut(f64),
    ) -> Result<(), SynthesisError> {
        for (voice, _) in lines {
            self.record(voice)?;
        }
        let mut wanted: Vec<&(SpeakerVoice, String)> = Vec::new();
        for line in lines {
            if !self.spoken.contains_key(line) && !wanted.contains(&line) {
                wanted.push(line);
            }
        }
        let cores = thread::available_parallelism().map_or(1, usize::from);
        for (done, part) in wanted.chunks(cores * 4).enumerate() {
            progress((done * cores * 4) as f64 / wanted.len() as f64);
            let share = part.len().div_ceil(cores);
            let this = &*self;
            let spoken = thread::scope(|scope| {
                let shares: Vec<_> = part
                    .chunks(share)
                    .enumerate()
                    .map(|(hand, lines)| {
                        scope.spawn(move || {
                            let say =
                                |line: &&(SpeakerVoice, String)| this.say(&line.0, &line.1, hand);
                            lines.iter().map(say).collect::<Result<Vec<_>, _>>()
                        })
                    })
                    .collect();
                let joined = shares.into_iter().filter_map(|share| share.join().ok());
                joined.collect::<Result<Vec<_>, _>>()
            })?;
            for (line, speech) in part.iter().zip(spoken.into_iter().flatten()) {
                self.spoken.insert((*line).clone(), speech);
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
        let speech = self.say(voice, text, 0)?;
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

    /// Several may speak at a time, each with its own `hand`.
    fn say(
        &self,
        voice: &SpeakerVoice,
        text: &str,
        hand: usize,
    ) -> Result<SpokenClip, SynthesisError> {
        let path = self.folder.path().join(format!("speech-{hand}.wav"));
        let text = &spoken_letters(text);
        let clip = match voice.family {
            VoiceFamily::Espeak => program::espeak(voice, text, &path)?,
            VoiceFamily::Flite => program::flite(voice, text, &path)?,
            VoiceFamily::Words => match self.recorded.get(&voice.name) {
                Some(recorded) => recorded.say(voice, text, &path)?,
                None => Vec::new(),
            },
        };
        Ok(SpokenClip::from_clip(clip))
    }
}
