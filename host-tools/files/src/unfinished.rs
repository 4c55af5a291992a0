//! Files and folders that are being made: each has a hidden name beside its target, and
//! gets its final name when it is complete.
//!
//! A process that dies leaves such a file behind. To tell it from the file of a process
//! that is still running, each is locked while it is made (an advisory lock, which the
//! system lifts when the process ends in any way). On a file system without locks nothing
//! is ever taken for abandoned. On Windows a lock would keep SQLite out of the file too;
//! there a file counts as abandoned after a day.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use tempfile::{Builder, NamedTempFile, TempDir};

/// How the hidden names begin; six letters and digits follow.
const UNFINISHED_PREFIX: &str = ".jumpseat-";
const RANDOM_CHARACTERS: usize = 6;

/// What SQLite puts beside a database.
pub const DATABASE_COMPANIONS: [&str; 3] = ["-journal", "-wal", "-shm"];

/// What this process is making now.
static IN_PROGRESS: Mutex<BTreeSet<PathBuf>> = Mutex::new(BTreeSet::new());

fn change_in_progress(change: impl FnOnce(&mut BTreeSet<PathBuf>)) {
    change(&mut IN_PROGRESS.lock().unwrap_or_else(PoisonError::into_inner));
}

/// Removes what this process is making, for a process that is about to be ended from
/// outside. Nothing can be done about what cannot be removed; a later run tries again.
pub fn abandon_unfinished() {
    change_in_progress(|paths| {
        for path in std::mem::take(paths) {
            let _ = remove(&path);
        }
    });
}

/// Removes what dead processes left in a folder. What cannot be examined or removed
/// stays: it does no harm.
pub fn clear_unfinished(folder: &Path) {
    let Ok(listing) = fs::read_dir(folder) else {
        return;
    };
    for entry in listing.flatten() {
        let ours = entry.file_name().to_str().is_some_and(is_ours);
        let kind = entry.file_type();
        if !ours || !kind.is_ok_and(|kind| kind.is_file() || kind.is_dir()) {
            continue;
        }
        let path = entry.path();
        if let Some(_lock) = abandoned(&path) {
            let _ = remove(&path);
        }
    }
}

/// A file or folder that no process is making, with a lock on it, which is held until it
/// is removed: see [`UnfinishedFile::file_in`].
#[cfg(unix)]
fn abandoned(path: &Path) -> Option<File> {
    File::open(path).ok().filter(|file| file.try_lock().is_ok())
}

/// A file or folder that no process is making, judged by its age.
#[cfg(not(unix))]
fn abandoned(path: &Path) -> Option<()> {
    let age = fs::metadata(path).ok()?.modified().ok()?.elapsed().ok()?;
    (age > std::time::Duration::from_secs(24 * 60 * 60)).then_some(())
}

fn is_ours(name: &str) -> bool {
    name.strip_prefix(UNFINISHED_PREFIX).is_some_and(|random| {
        random.len() == RANDOM_CHARACTERS && random.bytes().all(|byte| byte.is_ascii_alphanumeric())
    })
}

fn remove(path: &Path) -> io::Result<()> {
    for word in DATABASE_COMPANIONS {
        // Ordinarily there is none.
        let _ = fs::remove_file(with_suffix(path, word));
    }
    if path.is_dir() {
        fs::remove_dir_all(path)
    } else {
        fs::remove_file(path)
    }
}

/// A path with a suffix added to its name.
pub fn with_suffix(path: &Path, word: &str) -> PathBuf {
    let mut whole = path.as_os_str().to_owned();
    whole.push(word);
    PathBuf::from(whole)
}

/// A file that is being made; it goes away when it is dropped unfinished. Only its
/// owner may read it.
#[derive(Debug)]
pub struct UnfinishedFile {
    file: Option<NamedTempFile>,
    path: PathBuf,
}

impl UnfinishedFile {
    /// Makes a hidden, locked file in `folder`.
    ///
    /// # Errors
    /// When the file cannot be made or looked at.
    pub fn file_in(folder: &Path) -> io::Result<Self> {
        loop {
            let file = Builder::new()
                .prefix(UNFINISHED_PREFIX)
                .rand_bytes(RANDOM_CHARACTERS)
                .tempfile_in(folder)?;
            // Another process may lock and remove it before it is locked here.
            if !lock(file.as_file()) || file.path().exists() {
                let path = file.path().to_owned();
                change_in_progress(|paths| {
                    paths.insert(path.clone());
                });
                return Ok(Self {
                    file: Some(file),
                    path,
                });
            }
        }
    }

    /// Where it is now.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The open file.
    pub fn file(&self) -> io::Result<&File> {
        let file = self.file.as_ref().map(NamedTempFile::as_file);
        file.ok_or_else(|| io::ErrorKind::NotFound.into())
    }

    /// Gives it its final name, replacing what has that name.
    pub fn finish(mut self, path: &Path) -> io::Result<()> {
        match self.file.take() {
            Some(file) => file.persist(path).map(|_| ()).map_err(|error| error.error),
            None => Err(io::ErrorKind::NotFound.into()),
        }
    }

    /// Gives it its final name, unless something has that name already.
    pub fn finish_new(mut self, path: &Path) -> io::Result<()> {
        let Some(file) = self.file.take() else {
            return Err(io::ErrorKind::NotFound.into());
        };
        match file.persist_noclobber(path) {
            Ok(_) => Ok(()),
            Err(error) if path.exists() => {
                Err(io::Error::new(io::ErrorKind::AlreadyExists, error.error))
            }
            // Not every file system can refuse it by itself.
            Err(error) => error
                .file
                .persist(path)
                .map(|_| ())
                .map_err(|error| error.error),
        }
    }
}

impl Drop for UnfinishedFile {
    fn drop(&mut self) {
        change_in_progress(|paths| {
            paths.remove(&self.path);
        });
    }
}

/// A folder that is being made; it goes away when it is dropped unfinished.
#[derive(Debug)]
pub struct UnfinishedFolder {
    dir: TempDir,
    _lock: Option<File>,
}

impl UnfinishedFolder {
    /// Makes it in a folder.
    ///
    /// # Errors
    /// Those of the system.
    pub fn new_in(folder: &Path) -> io::Result<Self> {
        loop {
            let dir = Builder::new()
                .prefix(UNFINISHED_PREFIX)
                .rand_bytes(RANDOM_CHARACTERS)
                .tempdir_in(folder)?;
            // Windows opens no folder so; nothing is taken for left behind there either.
            let handle = File::open(dir.path()).ok();
            let locked = handle.as_ref().is_some_and(lock);
            if !locked || dir.path().exists() {
                change_in_progress(|paths| {
                    paths.insert(dir.path().to_owned());
                });
                return Ok(Self { dir, _lock: handle });
            }
        }
    }

    /// Where it is now.
    pub fn path(&self) -> &Path {
        self.dir.path()
    }

    /// Gives it its name.
    ///
    /// # Errors
    /// Those of the system; then it goes away.
    pub fn finish(self, path: &Path) -> io::Result<()> {
        fs::rename(self.dir.path(), path)?;
        change_in_progress(|paths| {
            paths.remove(self.dir.path());
        });
        // It has its final name now, so there is nothing to clean up.
        let mut this = self;
        this.dir.disable_cleanup(true);
        Ok(())
    }
}

impl Drop for UnfinishedFolder {
    fn drop(&mut self) {
        change_in_progress(|paths| {
            paths.remove(self.dir.path());
        });
    }
}

/// Whether the file is locked now; not every file system can.
#[cfg(unix)]
fn lock(file: &File) -> bool {
    loop {
        match file.lock() {
            Ok(()) => return true,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(_) => return false,
        }
    }
}

/// It would keep SQLite out of the file.
#[cfg(not(unix))]
fn lock(_: &File) -> bool {
    false
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let entries = fs::read_dir(folder).unwrap();
        let mut names: Vec<String> = entries
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    #[test]
    fn what_a_dead_run_left_goes_and_what_is_being_made_stays() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        for name in [
            ".jumpseat-abc123",
            ".jumpseat-abc123-journal",
            ".jumpseat-check",
            "mine",
        ] {
            fs::write(at(name), "x").unwrap();
        }
        fs::create_dir(at(".jumpseat-xyz789")).unwrap();
        fs::write(at(".jumpseat-xyz789/clip.wav"), "x").unwrap();
        let file = UnfinishedFile::file_in(folder.path()).unwrap();
        let dir = UnfinishedFolder::new_in(folder.path()).unwrap();
        clear_unfinished(folder.path());
        assert!(file.path().exists() && dir.path().exists());
        assert!(at(".jumpseat-check").exists());
        file.finish(&at("file")).unwrap();
        dir.finish(&at("dir")).unwrap();
        let left = names(folder.path());
        if cfg!(unix) {
            assert_eq!(left, [".jumpseat-check", "dir", "file", "mine"]);
        }
    }

    #[test]
    fn what_is_dropped_unfinished_goes() {
        let folder = tempfile::tempdir().unwrap();
        drop(UnfinishedFile::file_in(folder.path()).unwrap());
        drop(UnfinishedFolder::new_in(folder.path()).unwrap());
        assert_eq!(names(folder.path()), [""; 0]);
    }

    #[test]
    fn a_new_name_is_never_taken_from_another() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("mine");
        fs::write(&path, "mine").unwrap();
        let file = UnfinishedFile::file_in(folder.path()).unwrap();
        let error = file.finish_new(&path).unwrap_err();
        assert_eq!(error.kind(), io::ErrorKind::AlreadyExists);
        assert_eq!(fs::read_to_string(&path).unwrap(), "mine");
        assert_eq!(names(folder.path()), ["mine"]);
    }
}
