//! What can go wrong in the recogniser.

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
    #[error("a sampling rate of {0} Hz is out of range: the recogniser takes 4000 to 384000 Hz")]
    Rate(u32),
}
