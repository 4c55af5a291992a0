//! Why a pull fails.

use std::io;
use std::path::{Path, PathBuf};

use jumpseat_values::display::byte_size;
use thiserror::Error;

/// Why a pull fails, as a whole or for one path.
#[derive(Debug, Error)]
pub enum PullError {
    /// The text is not `ssh://[user@]host[:port][/path]`.
    #[error(
        "{0:?} is not the address of a board; write ssh://user@host, with :port and /path after \
         it where needed"
    )]
    BadAddress(String),
    /// The source holds no trip; the text says why and what to give.
    #[error("{0}")]
    NoTrips(String),
    /// The source holds more than the request allows.
    #[error("{place} holds {} of trips, more than the limit of this pull", byte_size(*.total))]
    TooLarge {
        /// The source, for a person to find.
        place: String,
        /// Bytes of all its trips.
        total: u64,
    },
    /// The source as a whole stopped answering; nothing more can be read from it.
    #[error("{0}")]
    SourceLost(String),
    /// The source sent nothing for longer than the request's patience.
    #[error("{0}")]
    SourceSilent(String),
    /// One path of the source cannot be used; the rest of the source can.
    #[error("{0}")]
    SourcePath(String),
    /// The system cannot read or write one path of the source.
    #[error("cannot {action} {path}; check the card and that you may {action} there")]
    SourceIo {
        /// What was tried: "read", "touch" or "make".
        action: &'static str,
        /// The path.
        path: String,
        /// The system's reason.
        source: io::Error,
    },
    /// The network cannot be asked for boards.
    #[error(
        "cannot ask the network for boards; give the board's address, such as \
         ssh://jumpseat-pull@192.168.1.20"
    )]
    Network(#[from] mdns_sd::Error),
    /// The ssh client cannot be started.
    #[error("cannot start ssh; {advice}")]
    NoSsh {
        /// How to install it.
        advice: &'static str,
        /// The system's reason.
        source: io::Error,
    },
    /// The library's folder cannot be made.
    #[error(
        "cannot make the library {path}; check that you may write there, or name another folder \
         with --home"
    )]
    NoLibrary {
        /// The library.
        path: PathBuf,
        /// The reason.
        source: jumpseat_files::FileError,
    },
    /// Another pull is using the library.
    #[error("another pull into {0} is running; wait for it to end")]
    LibraryLocked(PathBuf),
    /// The library's disk has no room for what is to be copied.
    #[error(
        "{path} has {} free, but {} are to be copied and {} stay free",
        byte_size(*.free), byte_size(*.needed), byte_size(*.spare)
    )]
    NoSpace {
        /// The library.
        path: PathBuf,
        /// Bytes that are free.
        free: u64,
        /// Bytes to copy.
        needed: u64,
        /// Bytes that a pull leaves free.
        spare: u64,
    },
    /// Something in the library cannot be read or written.
    #[error("cannot {action} {path}; what was copied so far is kept, so that you can try again")]
    Library {
        /// What was tried.
        action: &'static str,
        /// The path.
        path: PathBuf,
        /// The system's reason.
        source: io::Error,
    },
    /// A small file cannot be written, or a folder not be synced.
    #[error(transparent)]
    File(#[from] jumpseat_files::FileError),
    /// What is in the library is not what a pull may replace; the text says what to do.
    #[error("{0}")]
    LibraryFile(String),
    /// The threads that write the copies ended early.
    #[error("writing stopped: {0}; pull again")]
    WriterStopped(&'static str),
    /// A receipt or an event cannot be put into JSON.
    #[error("cannot write JSON")]
    Json(#[from] serde_json::Error),
    /// The listener failed, so nobody follows the pull.
    #[error("cannot report the progress of the pull")]
    Listener(#[source] io::Error),
}

impl PullError {
    /// Something in the library that cannot be done.
    pub(crate) fn library(action: &'static str, path: &Path) -> impl FnOnce(io::Error) -> Self {
        let path = path.to_owned();
        move |source| Self::Library {
            action,
            path,
            source,
        }
    }

    /// Whether nothing more can be read from the source, so that the pull ends.
    pub(crate) fn is_source_gone(&self) -> bool {
        matches!(self, Self::SourceLost(_) | Self::SourceSilent(_))
    }

    /// The error with its causes, in one line.
    #[must_use]
    pub fn message(&self) -> String {
        let mut message = self.to_string();
        let mut cause = std::error::Error::source(self);
        while let Some(error) = cause {
            let text = error.to_string();
            if !message.contains(&text) {
                message.push_str(": ");
                message.push_str(&text);
            }
            cause = error.source();
        }
        message
    }
}
