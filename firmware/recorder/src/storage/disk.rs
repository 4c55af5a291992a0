//! The real file system.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Read, Seek, Write};
use std::path::Path;

use rustix::fs::{Mode, OFlags, StatVfsMountFlags};

use super::{CardStorage, StoredFile, StoredKind};

/// Whether a sync waits for the card.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SyncDurability {
    /// It waits: on the board.
    Synced,
    /// It returns at once: for a simulated drive, which can be repeated.
    Relaxed,
}

/// The real file system.
#[derive(Debug, Clone, Copy)]
pub struct DiskStorage {
    durability: SyncDurability,
}

impl DiskStorage {
    /// The real file system with this durability.
    pub const fn new(durability: SyncDurability) -> Self {
        Self { durability }
    }
}

struct DiskFile {
    file: File,
    durability: SyncDurability,
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
            SyncDurability::Synced => {
                self.file.sync_data()?;
                still_writable(&self.file)
            }
            SyncDurability::Relaxed => Ok(()),
        }
    }
}

/// A file system that became read-only under its open files still accepts writes into
/// memory and reports success for a sync (seen with ext4 of Linux 6.1).
fn still_writable(file: &File) -> io::Result<()> {
    let card = rustix::fs::fstatvfs(file)?;
    if card.f_flag.contains(StatVfsMountFlags::RDONLY) {
        return Err(io::ErrorKind::ReadOnlyFilesystem.into());
    }
    Ok(())
}

impl CardStorage for DiskStorage {
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
            SyncDurability::Synced => File::open(dir)?.sync_all(),
            SyncDurability::Relaxed => Ok(()),
        }
    }

    fn names(&mut self, dir: &Path, most: usize) -> io::Result<Vec<String>> {
        fs::read_dir(dir)?
            .take(most)
            .map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned()))
            .collect()
    }

    fn kind(&mut self, path: &Path) -> io::Result<StoredKind> {
        Ok(kind(&fs::symlink_metadata(path)?))
    }

    fn open(&mut self, path: &Path) -> io::Result<Box<dyn Read>> {
        let ordinary = |found: &fs::Metadata| match kind(found) {
            StoredKind::File { .. } => Ok(()),
            StoredKind::Folder | StoredKind::Other => Err(io::Error::new(
                io::ErrorKind::InvalidInput,
                "it is not an ordinary file",
            )),
        };
        // Checked before, because opening a device may have an effect on it, and after,
        // because the file may have been replaced by then.
        ordinary(&fs::symlink_metadata(path)?)?;
        let how = OFlags::RDONLY | OFlags::NOFOLLOW | OFlags::NONBLOCK | OFlags::CLOEXEC;
        let file = File::from(rustix::fs::open(path, how, Mode::empty())?);
        ordinary(&file.metadata()?)?;
        Ok(Box::new(file))
    }

    fn remove(&mut self, path: &Path) -> io::Result<()> {
        fs::remove_file(path)
    }

    fn remove_tree(&mut self, path: &Path) -> io::Result<()> {
        match self.kind(path)? {
            // It opens every folder relative to its parent, never through a link.
            StoredKind::Folder => fs::remove_dir_all(path),
            StoredKind::File { .. } | StoredKind::Other => fs::remove_file(path),
        }
    }

    fn free_bytes(&mut self, dir: &Path) -> io::Result<u64> {
        let card = rustix::fs::statvfs(dir)?;
        Ok(card.f_bavail.saturating_mul(card.f_frsize))
    }
}

fn kind(found: &fs::Metadata) -> StoredKind {
    if found.is_dir() {
        StoredKind::Folder
    } else if found.is_file() {
        let bytes = found.len();
        StoredKind::File { bytes }
    } else {
        StoredKind::Other
    }
}

#[cfg(test)]
mod tests;
