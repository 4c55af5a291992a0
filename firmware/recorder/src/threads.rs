//! Starts the recorder's threads.

use std::thread;

use crate::error::RecorderError;

/// Starts a thread of this name, which the system's tools show.
///
/// # Errors
/// [`RecorderError::Device`] when the system starts no thread.
pub(crate) fn spawn(name: &str, run: impl FnOnce() + Send + 'static) -> Result<(), RecorderError> {
    thread::Builder::new()
        .name(name.to_owned())
        .spawn(run)
        .map(drop)
        .map_err(|error| {
            RecorderError::Device(format!(
                "cannot start the thread {name:?}: {error}; look for what uses up the board's \
                 memory or processes"
            ))
        })
}
