//! Where trips come from: a folder of this computer, or a board over the network.

use std::time::SystemTime;

use anyhow::{Error, Result};
use thiserror::Error;

/// Names of one folder, against a source that never ends.
pub(super) const MAX_FOLDER_NAMES: usize = 200_000;

/// The source as a whole does not answer any more: nothing further comes from it.
#[derive(Debug, Error)]
#[error("{0}")]
pub(super) struct SourceGone(pub(super) String);

/// Whether an error is about the whole source, and not about one path of it.
pub(super) fn is_gone(error: &Error) -> bool {
    error.is::<SourceGone>()
}

/// What a name in a folder stands for. Links are never followed: they lead out of
/// the trip.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum SourceEntryKind {
    Folder,
    File,
    /// A link, a device, a pipe, or nothing that can be told.
    Other,
}

/// A name in a folder of the source. Nothing about it is to be believed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct SourceEntry {
    /// None when it is no text.
    pub(super) name: Option<String>,
    pub(super) kind: SourceEntryKind,
    pub(super) bytes: u64,
    pub(super) modified: Option<SystemTime>,
}

/// A part of a file that is wanted: exactly `length` bytes from `from` on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct FileRange {
    pub(super) path: String,
    pub(super) from: u64,
    pub(super) length: u64,
}

/// What comes of a file that is wanted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum FetchEvent {
    /// Its next bytes.
    Piece(Vec<u8>),
    /// Nothing more comes of it, for this reason; other files are no worse for it.
    Failed(String),
}

/// Takes what was read, piece by piece: the number of the file among those wanted,
/// and what came of it.
pub(super) type FetchCallback<'a> = &'a mut dyn FnMut(usize, FetchEvent) -> Result<()>;

/// Paths are relative to what was asked for, with "/" between; "" is itself. An error
/// is about the path alone, unless [`is_gone`] says that it is about the source.
pub(super) trait TripSource {
    /// A path as a person would find it.
    fn display_path(&self, path: &str) -> String;

    /// The name of the folder itself, and whether it is one; None when nothing is
    /// there.
    fn own_name(&mut self) -> Result<Option<(String, SourceEntryKind)>>;

    /// What a folder holds, in any order; at most [`MAX_FOLDER_NAMES`] names.
    fn list(&mut self, folder: &str) -> Result<Vec<SourceEntry>>;

    /// What is at a path, no link followed; None when nothing is.
    fn metadata(&mut self, path: &str) -> Result<Option<SourceEntry>>;

    /// Reads what is wanted, in its order. Each file comes whole or is told as
    /// failed. An error is the source's as a whole, or that of `take`.
    fn fetch(&mut self, wanted: &[FileRange], take: FetchCallback<'_>) -> Result<()>;

    /// Writes a small file, whole or not at all; its folder is made if need be. Never
    /// through a link, nor into anything but an ordinary file.
    fn write(&mut self, path: &str, bytes: &[u8]) -> Result<()>;

    /// Touches the file now, and again and again while something is read; never
    /// through a link.
    fn hold_lease(&mut self, path: &str) -> Result<()>;
}
