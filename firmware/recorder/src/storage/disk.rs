//! The real file system.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Seek, Write};
use std::path::Path;

use rustix::fs::StatVfsMountFlags;

use super::{Storage, StoredFile};

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
            Durability::Synced => {
                self.file.sync_data()?;
                still_writable(&self.file)
            }
            Durability::Relaxed => Ok(()),
        }
    }
}

/// A file system that was made read-only under its open files takes writes into
/// memory and answers a sync with yes (seen with ext4 of Linux 6.1).
fn still_writable(file: &File) -> io::Result<()> {
    let card = rustix::fs::fstatvfs(file)?;
    if card.f_flag.contains(StatVfsMountFlags::RDONLY) {
        return Err(io::ErrorKind::ReadOnlyFilesystem.into());
    }
    Ok(())
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

    fn open(&mut self, path: &Path) -> io::Result<Box<dyn Read>> {
        Ok(Box::new(File::open(path)?))
    }

    fn remove(&mut self, path: &Path) -> io::Result<()> {
        fs::remove_file(path)
    }

    fn remove_dir(&mut self, dir: &Path) -> io::Result<()> {
        fs::remove_dir(dir)
    }

    fn free_bytes(&mut self, dir: &Path) -> io::Result<u64> {
        let card = rustix::fs::statvfs(dir)?;
        Ok(card.f_bavail.saturating_mul(card.f_frsize))
    }
}
