//! Errors of the server.

use std::io;

/// The page cannot be served; `Display` says what to do.
#[derive(Debug, thiserror::Error)]
pub enum ReviewError {
    /// The port is taken, or may not be used.
    #[error(
        "the review page cannot use port {port} of this computer: {source}. Leave --port out to \
         use any free one"
    )]
    Port {
        /// As asked for; 0 for any.
        port: u16,
        /// Why.
        source: io::Error,
    },
    /// The system has no random numbers, without which the page would be open to all.
    #[error("the system has no random numbers for the page's secret link: {0}")]
    Random(String),
    /// The server could not start or go on.
    #[error("the review page stopped: {0}. Nothing that you decided is lost; start it again")]
    Serve(#[from] io::Error),
}
