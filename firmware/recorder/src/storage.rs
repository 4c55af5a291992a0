//! Where bytes go, behind a small trait, so that the same code can be tested
//! on a card that fails at any moment.

mod disk;
pub mod memory;

use std::io::{self, Read, Seek, Write};
use std::path::Path;

pub use disk::{Disk, Durability};

/// A file being written.
pub trait StoredFile: Write + Seek + Send {
    /// Returns once everything written so far would survive a power cut. After
    /// an error the file is not to be trusted any more: begin another.
    ///
    /// # Errors
    /// The system's reason.
    fn sync(&mut self) -> io::Result<()>;
}

/// A card.
pub trait Storage: Send {
    /// Makes a folder, which must not exist yet.
    ///
    /// # Errors
    /// The system's reason.
    fn make_dir(&mut self, dir: &Path) -> io::Result<()>;
    /// Creates a file, which must not exist yet: nothing is ever overwritten.
    ///
    /// # Errors
    /// The system's reason.
    fn create(&mut self, path: &Path) -> io::Result<Box<dyn StoredFile>>;
    /// Gives a file another name, over one that may exist, at one stroke.
    ///
    /// # Errors
    /// The system's reason.
    fn rename(&mut self, from: &Path, to: &Path) -> io::Result<()>;
    /// Makes new names in a folder survive a power cut.
    ///
    /// # Errors
    /// The system's reason.
    fn sync_dir(&mut self, dir: &Path) -> io::Result<()>;
    /// Names in a folder, in no order.
    ///
    /// # Errors
    /// The system's reason.
    fn names(&mut self, dir: &Path) -> io::Result<Vec<String>>;
    /// Opens a file for reading from its start.
    ///
    /// # Errors
    /// The system's reason.
    fn open(&mut self, path: &Path) -> io::Result<Box<dyn Read>>;
    /// Removes a file.
    ///
    /// # Errors
    /// The system's reason.
    fn remove(&mut self, path: &Path) -> io::Result<()>;
    /// Removes an empty folder.
    ///
    /// # Errors
    /// The system's reason.
    fn remove_dir(&mut self, dir: &Path) -> io::Result<()>;
    /// Bytes that may still be written.
    ///
    /// # Errors
    /// The system's reason.
    fn free_bytes(&mut self, dir: &Path) -> io::Result<u64>;
}

/// A small file's text.
///
/// # Errors
/// The system's reason, also for a file that is no text.
pub fn read_text(storage: &mut dyn Storage, path: &Path) -> io::Result<String> {
    let mut text = String::new();
    storage.open(path)?.read_to_string(&mut text)?;
    Ok(text)
}
