//! Storage behind a small trait, so that the same code can be tested on a card that fails
//! at any moment.

pub(crate) mod checked;
mod disk;

use std::io::{self, Read, Seek, Write};
use std::path::Path;

pub use disk::{DiskStorage, SyncDurability};

/// A file being written.
pub trait StoredFile: Write + Seek + Send {
    /// Returns once everything written so far would survive a power cut. After an error the
    /// file cannot be trusted any more: begin another.
    ///
    /// # Errors
    /// The system's reason.
    fn sync(&mut self) -> io::Result<()>;
}

/// The kind of thing under a name; a link is not followed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StoredKind {
    /// A folder.
    Folder,
    /// An ordinary file of this length.
    File {
        /// Length in bytes.
        bytes: u64,
    },
    /// A link, a pipe, a device or a socket, none of which the recorder creates.
    Other,
}

/// A card. No operation follows a link at the end of its path, and none waits for the other
/// end of a pipe.
pub trait CardStorage: Send {
    /// Creates a folder, which must not exist yet.
    ///
    /// # Errors
    /// The system's reason.
    fn make_dir(&mut self, dir: &Path) -> io::Result<()>;
    /// Creates a file, which must not exist yet: nothing is ever overwritten.
    ///
    /// # Errors
    /// The system's reason.
    fn create(&mut self, path: &Path) -> io::Result<Box<dyn StoredFile>>;
    /// Renames a file in one step, replacing one that may exist.
    ///
    /// # Errors
    /// The system's reason.
    fn rename(&mut self, from: &Path, to: &Path) -> io::Result<()>;
    /// Makes new names in a folder survive a power cut.
    ///
    /// # Errors
    /// The system's reason.
    fn sync_dir(&mut self, dir: &Path) -> io::Result<()>;
    /// Names in a folder, in no particular order, at most `most`.
    ///
    /// # Errors
    /// The system's reason.
    fn names(&mut self, dir: &Path, most: usize) -> io::Result<Vec<String>>;
    /// The kind of thing under a name.
    ///
    /// # Errors
    /// The system's reason; `NotFound` when there is nothing.
    fn kind(&mut self, path: &Path) -> io::Result<StoredKind>;
    /// Opens an ordinary file for reading from its start.
    ///
    /// # Errors
    /// The system's reason; `InvalidInput` for anything but an ordinary file.
    fn open(&mut self, path: &Path) -> io::Result<Box<dyn Read>>;
    /// Removes a file, or a link but not its target.
    ///
    /// # Errors
    /// The system's reason.
    fn remove(&mut self, path: &Path) -> io::Result<()>;
    /// Removes a folder with all that is in it; a link in it is removed but not its target.
    /// A `path` that is not a folder is removed as with [`remove`](Self::remove).
    ///
    /// # Errors
    /// The system's reason; some of it may be gone then.
    fn remove_tree(&mut self, path: &Path) -> io::Result<()>;
    /// Free bytes for this user.
    ///
    /// # Errors
    /// The system's reason.
    fn free_bytes(&mut self, dir: &Path) -> io::Result<u64>;
}

/// The text of a small file, at most `most` bytes.
///
/// # Errors
/// The system's reason, also for a file that is not text; `FileTooLarge` for one
/// that is longer.
pub fn read_text(storage: &mut dyn CardStorage, path: &Path, most: u64) -> io::Result<String> {
    let mut text = String::new();
    let file = storage.open(path)?;
    file.take(most.saturating_add(1))
        .read_to_string(&mut text)?;
    if text.len() as u64 > most {
        return Err(io::ErrorKind::FileTooLarge.into());
    }
    Ok(text)
}

/// Whether there is a folder of this name.
pub(crate) fn is_folder(storage: &mut dyn CardStorage, path: &Path) -> bool {
    storage
        .kind(path)
        .is_ok_and(|kind| kind == StoredKind::Folder)
}
