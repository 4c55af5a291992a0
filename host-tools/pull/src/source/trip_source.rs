//! What every source of trips can do.

use std::time::{Duration, SystemTime};

use crate::error::PullError;

/// Names in one folder at most, against a source that never ends.
pub(super) const MAX_FOLDER_NAMES: usize = 200_000;
/// Time between two touches of the lease file, while something is read.
pub(crate) const LEASE_EVERY: Duration = Duration::from_secs(20);

/// What a name in a folder stands for. Links are never followed: they lead out of the
/// trip.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SourceEntryKind {
    /// A folder.
    Folder,
    /// A regular file.
    File,
    /// A link, a device, a pipe, or unknown.
    Other,
}

/// A name in a folder of the source. None of it can be trusted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SourceEntry {
    /// `None` if it is not UTF-8.
    pub name: Option<String>,
    /// What it stands for.
    pub kind: SourceEntryKind,
    /// A file's length.
    pub bytes: u64,
    /// When it was last changed, by the source's clock.
    pub modified: Option<SystemTime>,
}

/// The part of a file to fetch: exactly `length` bytes, starting at `from`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileRange {
    /// The file.
    pub path: String,
    /// Offset of the first byte.
    pub from: u64,
    /// How many bytes.
    pub length: u64,
}

/// What a fetch delivers of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FetchEvent {
    /// Its next bytes.
    Piece(Vec<u8>),
    /// The file failed for this reason and delivers nothing more. Other files are not
    /// affected.
    Failed(String),
}

/// Receives what a fetch delivers, with the file's index among the requested ranges.
pub type FetchCallback<'a> = &'a mut dyn FnMut(usize, FetchEvent) -> Result<(), PullError>;

/// A source of trips. Paths are relative to the folder that was asked for, with "/"
/// between their parts; "" is that folder. An error concerns one path only, unless it is
/// [`PullError::SourceLost`] or [`PullError::SourceSilent`].
pub trait TripSource {
    /// A path as a person can find it.
    fn display_path(&self, path: &str) -> String;

    /// The name of the folder itself, and what it is; `None` when nothing is there.
    ///
    /// # Errors
    /// When it cannot be looked at.
    fn own_name(&mut self) -> Result<Option<(String, SourceEntryKind)>, PullError>;

    /// The entries of a folder, in any order; 200,000 at most.
    ///
    /// # Errors
    /// When it cannot be listed.
    fn list(&mut self, folder: &str) -> Result<Vec<SourceEntry>, PullError>;

    /// What is at a path, without following links; `None` when nothing is.
    ///
    /// # Errors
    /// When it cannot be looked at.
    fn metadata(&mut self, path: &str) -> Result<Option<SourceEntry>, PullError>;

    /// Reads the ranges in their order. Each is delivered completely, or ends with
    /// [`FetchEvent::Failed`].
    ///
    /// # Errors
    /// When the source as a whole does not answer, and those of the callback.
    fn fetch(&mut self, ranges: &[FileRange], callback: FetchCallback<'_>)
    -> Result<(), PullError>;

    /// Writes a small file completely or not at all, and makes its folder if need be.
    /// Never writes through a link, nor into anything but a regular file.
    ///
    /// # Errors
    /// When it cannot be written.
    fn write(&mut self, path: &str, bytes: &[u8]) -> Result<(), PullError>;

    /// Touches the file now, and at intervals while something is read; never through a
    /// link.
    ///
    /// # Errors
    /// When it cannot be touched.
    fn hold_lease(&mut self, path: &str) -> Result<(), PullError>;
}
