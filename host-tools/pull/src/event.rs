//! What a pull reports while it runs.

use std::io;

use serde::Serialize;

use crate::report::MissingFile;

/// Something that happened in a pull; serialised, it is a line of `pull --json`.
#[derive(Debug, Serialize)]
#[serde(tag = "event", rename_all = "snake_case")]
pub enum PullEvent<'a> {
    /// What the source holds.
    Found {
        /// The source as it was given.
        source: &'a str,
        /// Trips in it.
        trips: usize,
        /// Files of all trips.
        files: usize,
        /// Bytes of all files.
        bytes: u64,
    },
    /// How far the pull is; what was in the library before counts as done.
    Progress {
        /// Bytes that are done.
        done: u64,
        /// Bytes in all.
        of: u64,
        /// Mean rate since the start.
        bytes_per_s: u64,
        /// `None` until there is a rate.
        seconds_left: Option<u64>,
    },
    /// What became of a file.
    File {
        /// The trip's name in the library.
        trip: &'a str,
        /// Path in the trip's folder.
        file: &'a str,
        /// Its length in the source.
        bytes: u64,
        /// "copied", "here already", "differs" or "failed".
        result: &'a str,
        /// In hex, where it is known.
        sha256: Option<&'a str>,
        /// Why it was not copied.
        #[serde(skip_serializing_if = "Option::is_none")]
        error: Option<&'a str>,
    },
    /// What became of a trip.
    Trip {
        /// Its name in the library.
        trip: &'a str,
        /// The board's id.
        board: Option<&'a str>,
        /// The operator, or the station's call sign.
        operator: Option<&'a str>,
        /// Files copied.
        copied: usize,
        /// Bytes in them.
        bytes: u64,
        /// Files that were in the library before.
        present: usize,
        /// What a person should look at.
        doubts: &'a [String],
        /// What is worth knowing but needs no action.
        notes: &'a [String],
    },
    /// Everything is done. The last event, unless the pull failed.
    End {
        /// Trips gone through.
        trips: usize,
        /// Files copied.
        copied: usize,
        /// Bytes in them.
        bytes: u64,
        /// How long it took.
        seconds: f64,
        /// Whether any trip has doubts.
        doubts: bool,
        /// Files that were not copied; the next pull tries again.
        failed: &'a [&'a MissingFile],
    },
    /// The pull failed. The last event; the caller of the pull makes it.
    Failed {
        /// Why.
        error: &'a str,
    },
}

/// Follows a pull.
pub trait PullListener {
    /// That many more bytes are done; called for every piece.
    fn advance(&self, bytes: u64);

    /// Something happened.
    ///
    /// # Errors
    /// An error ends the pull, as [`crate::PullError::Listener`].
    fn event(&self, event: &PullEvent<'_>) -> io::Result<()>;
}
