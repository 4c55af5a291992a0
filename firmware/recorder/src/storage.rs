//! Where bytes go, behind a small trait, so that the same code can be tested
//! on a card that fails at any moment.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Seek, Write};
use std::path::Path;

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
    /// A small file's text.
    ///
    /// # Errors
    /// The system's reason.
    fn read(&mut self, path: &Path) -> io::Result<String>;
    /// Removes a leftover of the recorder's own that never became a file of a trip.
    ///
    /// # Errors
    /// The system's reason.
    fn remove(&mut self, path: &Path) -> io::Result<()>;
    /// Bytes that may still be written.
    ///
    /// # Errors
    /// The system's reason.
    fn free_bytes(&mut self, dir: &Path) -> io::Result<u64>;
}

/// Whether a sync really waits for the card.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Durability {
    /// It does: on the board.
    Synced,
    /// It returns at once: for a simulated drive, which can be made again.
    Relaxed,
}

/// The real file system.
#[derive(Debug, Clone, Copy)]
pub struct Disk {
    durability: Durability,
}

impl Disk {
    /// A file system that keeps its promises or, for simulations, hurries.
    pub const fn new(durability: Durability) -> Self {
        Self { durability }
    }
}

struct DiskFile {
    file: File,
    durability: Durability,
}

impl Write for DiskFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.file.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.flush()
    }
}

impl Seek for DiskFile {
    fn seek(&mut self, position: io::SeekFrom) -> io::Result<u64> {
        self.file.seek(position)
    }
}

impl StoredFile for DiskFile {
    fn sync(&mut self) -> io::Result<()> {
        match self.durability {
            Durability::Synced => self.file.sync_data(),
            Durability::Relaxed => Ok(()),
        }
    }
}

impl Storage for Disk {
    fn make_dir(&mut self, dir: &Path) -> io::Result<()> {
        fs::create_dir(dir)
    }

    fn create(&mut self, path: &Path) -> io::Result<Box<dyn StoredFile>> {
        let file = OpenOptions::new().write(true).create_new(true).open(path)?;
        Ok(Box::new(DiskFile {
            file,
            durability: self.durability,
        }))
    }

    fn rename(&mut self, from: &Path, to: &Path) -> io::Result<()> {
        fs::rename(from, to)
    }

    fn sync_dir(&mut self, dir: &Path) -> io::Result<()> {
        match self.durability {
            Durability::Synced => File::open(dir)?.sync_all(),
            Durability::Relaxed => Ok(()),
        }
    }

    fn names(&mut self, dir: &Path) -> io::Result<Vec<String>> {
        fs::read_dir(dir)?
            .map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned()))
            .collect()
    }

    fn read(&mut self, path: &Path) -> io::Result<String> {
        fs::read_to_string(path)
    }

    fn remove(&mut self, path: &Path) -> io::Result<()> {
        fs::remove_file(path)
    }

    fn free_bytes(&mut self, dir: &Path) -> io::Result<u64> {
        let card = rustix::fs::statvfs(dir)?;
        Ok(card.f_bavail.saturating_mul(card.f_frsize))
    }
}
