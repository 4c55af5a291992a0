//! Where trips come from: a folder of this computer, or a board over the network.

use std::time::SystemTime;

use anyhow::Result;

/// What a name in a folder stands for. Links are never followed: they lead out of
/// the trip.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Folder,
    File,
    /// A link, a device, a pipe, or nothing that can be told.
    Other,
}

/// A name in a folder of the source. Nothing about it is to be believed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Entry {
    /// None when it is no text.
    pub(super) name: Option<String>,
    pub(super) kind: Kind,
    pub(super) bytes: u64,
    pub(super) modified: Option<SystemTime>,
}

/// A part of a file that is wanted: exactly `length` bytes from `from` on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Wanted {
    pub(super) path: String,
    pub(super) from: u64,
    pub(super) length: u64,
}

/// Takes what was read, piece by piece: the number of the file among those wanted,
/// and the bytes.
pub(super) type Take<'a> = &'a mut dyn FnMut(usize, Vec<u8>) -> Result<()>;

/// Paths are relative to what was asked for, with "/" between; "" is itself.
pub(super) trait Source {
    /// A path as a person would find it.
    fn say(&self, path: &str) -> String;

    /// The name of the folder itself, and whether it is one; None when nothing is
    /// there.
    fn own(&mut self) -> Result<Option<(String, Kind)>>;

    /// What a folder holds, in any order.
    fn list(&mut self, folder: &str) -> Result<Vec<Entry>>;

    /// Reads what is wanted, in its order.
    fn fetch(&mut self, wanted: &[Wanted], take: Take<'_>) -> Result<()>;

    /// Writes a small file, whole or not at all; its folder is made if need be.
    fn write(&mut self, path: &str, bytes: &[u8]) -> Result<()>;

    /// Touches the file now, and again and again while something is read.
    fn hold(&mut self, path: &str) -> Result<()>;
}
