//! Why nothing was spoken.

use std::path::PathBuf;

/// Why nothing was spoken.
#[derive(Debug, thiserror::Error)]
pub enum SynthesisError {
    /// The program is absent.
    #[error("cannot start {program}: {source}; install {install}")]
    Start {
        /// Which.
        program: &'static str,
        /// What to install.
        install: &'static str,
        /// Why not.
        source: std::io::Error,
    },
    /// A voice of its own package is absent.
    #[error("{program} has no voice {voice}; install {install}")]
    Voice {
        /// Which.
        program: &'static str,
        /// The voice asked for.
        voice: String,
        /// What to install.
        install: &'static str,
    },
    /// It does not know the voice, or failed otherwise.
    /// The words themselves stay out of the message: they may be the judge's, which nobody reads.
    #[error("{program} could not say {characters} characters with the voice {voice}: {detail}")]
    Failed {
        /// Which.
        program: &'static str,
        /// The voice asked for.
        voice: String,
        /// How much it was to say.
        characters: usize,
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
