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

/// Takes what was read, piece by piece.
pub(super) type Sink<'a> = &'a mut dyn FnMut(&[u8]) -> Result<()>;

/// Paths are relative to what was asked for, with "/" between; "" is itself.
pub(super) trait Source {
    /// A path as a person would find it.
    fn say(&self, path: &str) -> String;

    /// The name of the folder itself, and whether it is one; None when nothing is
    /// there.
    fn own(&mut self) -> Result<Option<(String, Kind)>>;

    /// The name of the trip that the folder is, when its own name does not tell.
    fn trip_id(&mut self) -> Result<String>;

    /// What a folder holds, in any order.
    fn list(&mut self, folder: &str) -> Result<Vec<Entry>>;

    /// Reads exactly `length` bytes from the offset `from` on, in order.
    fn read(&mut self, path: &str, from: u64, length: u64, sink: Sink<'_>) -> Result<()>;

    /// Writes a small file, whole or not at all; its folder is made if need be.
    fn write(&mut self, path: &str, bytes: &[u8]) -> Result<()>;

    /// Touches the file now, and again and again while something is read.
    fn hold(&mut self, path: &str) -> Result<()>;
}
