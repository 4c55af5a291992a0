//! Voices: words to samples, by the speech programs espeak-ng and flite, or from
//! recordings of single words.

mod level;
mod program;
mod words;

use std::collections::HashMap;
use std::path::PathBuf;
use std::sync::Arc;
use std::thread;

use super::RATE;
use crate::scenario::{Family, Voice};

pub(crate) use level::active_level;

/// Spoken words at 16 kHz.
#[derive(Debug, Clone)]
pub struct Speech(Arc<[f32]>);

impl Speech {
    /// Silence trimmed at both ends, active level 1.
    fn of(clip: Vec<f32>) -> Self {
        let mut clip = level::trim(clip);
        let level = active_level(&clip).max(f32::MIN_POSITIVE);
        clip.iter_mut().for_each(|sample| *sample /= level);
        Self(clip.into())
    }

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
    #[error("cannot start {program}: {source}; install the package {program}")]
    Start {
        /// Which.
        program: &'static str,
        /// Why not.
        source: std::io::Error,
    },
    /// It does not know the voice, or failed otherwise.
    #[error("{program} could not say \"{text}\" with the voice {voice}: {detail}")]
    Failed {
        /// Which.
        program: &'static str,
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
    /// Its output, or a recording, is no WAV file.
    #[error("cannot read the speech in {}: {source}", path.display())]
    Read {
        /// Where it is.
        path: PathBuf,
        /// Why not.
        source: hound::Error,
    },
    /// A folder of recordings lacks what a call sign needs.
    #[error("{} has no recording {missing}.wav; it needs alfa.wav to zulu.wav and 0.wav to 9.wav", path.display())]
    Missing {
        /// The folder.
        path: PathBuf,
        /// The first that is missing.
        missing: String,
    },
}

/// Speaks, and remembers what it has spoken.
#[derive(Debug)]
pub struct Speaker {
    spoken: HashMap<(Voice, String), Speech>,
    recorded: HashMap<String, words::Recorded>,
    folder: tempfile::TempDir,
}

impl Speaker {
    /// A speaker with nothing spoken yet.
    pub fn new() -> Result<Self, SpeechError> {
        let folder = tempfile::tempdir().map_err(SpeechError::Folder)?;
        Ok(Self {
            spoken: HashMap::new(),
            recorded: HashMap::new(),
            folder,
        })
    }

    /// Says all of these ahead, on every core; `progress` is told the fraction done.
    pub fn prepare(
        &mut self,
        lines: &[(Voice, String)],
        progress: &mut dyn FnMut(f64),
    ) -> Result<(), SpeechError> {
        for (voice, _) in lines {
            self.record(voice)?;
        }
        let mut wanted: Vec<&(Voice, String)> = Vec::new();
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
                            let say = |line: &&(Voice, String)| this.say(&line.0, &line.1, hand);
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
    pub fn speak(&mut self, voice: &Voice, text: &str) -> Result<Speech, SpeechError> {
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
    fn record(&mut self, voice: &Voice) -> Result<(), SpeechError> {
        if voice.family == Family::Words && !self.recorded.contains_key(&voice.name) {
            let read = words::Recorded::read(voice.name.as_ref())?;
            self.recorded.insert(voice.name.clone(), read);
        }
        Ok(())
    }

    /// Several may speak at a time, each with its own `hand`.
    fn say(&self, voice: &Voice, text: &str, hand: usize) -> Result<Speech, SpeechError> {
        let path = self.folder.path().join(format!("speech-{hand}.wav"));
        let clip = match voice.family {
            Family::Espeak => program::espeak(voice, text, &path)?,
            Family::Flite => program::flite(voice, text, &path)?,
            Family::Words => match self.recorded.get(&voice.name) {
                Some(recorded) => recorded.say(voice, text, &path)?,
                None => Vec::new(),
            },
        };
        Ok(Speech::of(clip))
    }
}
