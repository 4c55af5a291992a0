//! What can go wrong in hearing.

/// Why nothing was heard.
#[derive(Debug, thiserror::Error)]
pub enum RecogniserError {
    /// The acoustic model did not run.
    #[error("the acoustic model failed ({0}); please report this with the recording")]
    Model(String),
    /// The weights could not be read.
    #[error("{path}: {source}; model/all.sh makes the weights", path = path.display())]
    Weights {
        /// The file.
        path: std::path::PathBuf,
        /// What went wrong.
        source: std::io::Error,
    },
    /// A rate that no sound card has.
    #[error("a sampling rate of {0} Hz cannot be heard: rates from 4000 to 384000 Hz are taken")]
    Rate(u32),
}
