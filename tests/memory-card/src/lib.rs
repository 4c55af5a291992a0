//! A card in memory that distinguishes what was written from what was synced.
//!
//! Every operation is numbered. The card can fail at the n-th operation, run full, and show
//! what would be left of it after a power cut at the n-th: only what was synced is certain;
//! of the rest, each write and each name may be there, missing or torn, in any order. Files
//! and names are synced separately: a synced file under a name that was not synced is lost.
#![forbid(unsafe_code)]

mod cut;
mod node;
mod operation;
mod tree;

use std::collections::BTreeMap;
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::Path;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

pub use cut::CutSurvival;
pub use tree::CardContents;

use jumpseat_recorder::storage::{CardStorage, StoredFile, StoredKind};
use node::TreeNode;
use operation::CardOperation;
use tree::CardTree;

/// Which operations fail.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FaultPlan {
    /// The first operation that fails, counted from 1.
    pub at: u64,
    /// Every later one fails too.
    pub for_good: bool,
}

#[derive(Debug, Default)]
struct MemoryCardState {
    tree: CardTree,
    start: CardTree,
    log: Vec<CardOperation>,
    fault: Option<FaultPlan>,
    tried: u64,
    capacity: Option<u64>,
}

/// A card in memory; its clones are the same card.
#[derive(Debug, Clone, Default)]
pub struct MemoryCard {
    inner: Arc<Mutex<MemoryCardState>>,
}

impl MemoryCard {
    /// An empty card of unlimited size.
    pub fn new() -> Self {
        Self::default()
    }

    /// Operations so far that changed the card or synced a change.
    pub fn operations(&self) -> u64 {
        self.lock().tried
    }

    /// Makes operations fail from now on.
    pub fn fail(&self, plan: Option<FaultPlan>) {
        self.lock().fault = plan;
    }

    /// Sets how many bytes the card holds.
    pub fn set_capacity(&self, bytes: u64) {
        self.lock().capacity = Some(bytes);
    }

    /// All that is written, synced or not, as seen without a power cut.
    pub fn contents(&self) -> CardContents {
        self.lock().tree.shape()
    }

    /// The card after a power cut in the middle of operation `at`, counted from 1: what was
    /// synced before, and of the rest what `survival` keeps. An `at` beyond the last is a
    /// cut after all of them.
    pub fn after_power_cut(&self, at: u64, survival: CutSurvival) -> Self {
        let inner = self.lock();
        let tree = cut::left_of(&inner.start, &inner.log, at, survival);
        Self {
            inner: Arc::new(Mutex::new(MemoryCardState {
                start: tree.clone(),
                tree,
                capacity: inner.capacity,
                ..MemoryCardState::default()
            })),
        }
    }

    /// The same files and names, all synced, on a card of its own.
    pub fn copy(&self) -> Self {
        let inner = self.lock();
        Self {
            inner: Arc::new(Mutex::new(MemoryCardState {
                tree: inner.tree.clone(),
                start: inner.tree.clone(),
                capacity: inner.capacity,
                ..MemoryCardState::default()
            })),
        }
    }

    fn lock(&self) -> MutexGuard<'_, MemoryCardState> {
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl MemoryCardState {
    /// Counts an operation, and fails it if the plan says so.
    fn step(&mut self) -> io::Result<()> {
        self.tried += 1;
        match self.fault {
            Some(FaultPlan { at, for_good })
                if self.tried == at || (for_good && self.tried > at) =>
            {
                Err(io::Error::other("the card does not answer"))
            }
            _ => Ok(()),
        }
    }

    fn full(&self, more: u64) -> bool {
        self.capacity
            .is_some_and(|capacity| self.tree.bytes().saturating_add(more) > capacity)
    }

    /// The folder and the last name of a path.
    fn place(&self, path: &Path) -> io::Result<(usize, String)> {
        let name = path.file_name().ok_or(io::ErrorKind::InvalidInput)?;
        let dir = self.tree.dir(path.parent().unwrap_or(Path::new("")))?;
        Ok((dir, name.to_string_lossy().into_owned()))
    }

    fn apply(&mut self, operation: CardOperation) {
        self.tree.apply(&operation);
        self.log.push(operation);
    }
}

impl CardStorage for MemoryCard {
    fn make_dir(&mut self, path: &Path) -> io::Result<()> {
        let mut inner = self.lock();
        let (dir, name) = inner.place(path)?;
        inner.step()?;
        if inner.tree.child(dir, &name).is_some() {
            return Err(io::ErrorKind::AlreadyExists.into());
        }
        let node = TreeNode::Dir(BTreeMap::new());
        inner.apply(CardOperation::Make { dir, name, node });
        Ok(())
    }

    fn create(&mut self, path: &Path) -> io::Result<Box<dyn StoredFile>> {
        let mut inner = self.lock();
        let (dir, name) = inner.place(path)?;
        inner.step()?;
        if inner.tree.child(dir, &name).is_some() {
            return Err(io::ErrorKind::AlreadyExists.into());
        }
        let node = TreeNode::File(Vec::new());
        inner.apply(CardOperation::Make {
            dir,
            name: name.clone(),
            node,
        });
        let file = inner
            .tree
            .child(dir, &name)
            .ok_or(io::ErrorKind::NotFound)?;
        Ok(Box::new(MemoryFile {
            card: self.clone(),
            file,
            at: 0,
        }))
    }

    fn rename(&mut self, from: &Path, to: &Path) -> io::Result<()> {
        let mut inner = self.lock();
        let (from, to) = (inner.place(from)?, inner.place(to)?);
        inner.step()?;
        let node = inner
            .tree
            .child(from.0, &from.1)
            .ok_or(io::ErrorKind::NotFound)?;
        inner.apply(CardOperation::Rename { from, to, node });
        Ok(())
    }

    fn sync_dir(&mut self, dir: &Path) -> io::Result<()> {
        let mut inner = self.lock();
        let dir = inner.tree.dir(dir)?;
        inner.step()?;
        inner.apply(CardOperation::SyncDir { dir });
        Ok(())
    }

    fn names(&mut self, dir: &Path, most: usize) -> io::Result<Vec<String>> {
        let inner = self.lock();
        let dir = inner.tree.dir(dir)?;
        let mut names = inner.tree.names(dir);
        names.truncate(most);
        Ok(names)
    }

    fn kind(&mut self, path: &Path) -> io::Result<StoredKind> {
        let inner = self.lock();
        if inner.tree.dir(path).is_ok() {
            return Ok(StoredKind::Folder);
        }
        let bytes = inner.tree.file(path)?.len() as u64;
        Ok(StoredKind::File { bytes })
    }

    fn open(&mut self, path: &Path) -> io::Result<Box<dyn Read>> {
        let inner = self.lock();
        let bytes = inner.tree.file(path)?.to_vec();
        Ok(Box::new(io::Cursor::new(bytes)))
    }

    fn remove(&mut self, path: &Path) -> io::Result<()> {
        let mut inner = self.lock();
        let (dir, name) = inner.place(path)?;
        inner.step()?;
        inner.tree.file(path)?;
        inner.apply(CardOperation::Remove { dir, name });
        Ok(())
    }

    /// Each file and folder below counts as an operation.
    fn remove_tree(&mut self, path: &Path) -> io::Result<()> {
        if self.kind(path)? != StoredKind::Folder {
            return self.remove(path);
        }
        for name in self.names(path, usize::MAX)? {
            self.remove_tree(&path.join(name))?;
        }
        let mut inner = self.lock();
        let (dir, name) = inner.place(path)?;
        inner.step()?;
        inner.apply(CardOperation::Remove { dir, name });
        Ok(())
    }

    fn free_bytes(&mut self, _dir: &Path) -> io::Result<u64> {
        let inner = self.lock();
        let capacity = inner.capacity.unwrap_or(u64::MAX);
        Ok(capacity.saturating_sub(inner.tree.bytes()))
    }
}

struct MemoryFile {
    card: MemoryCard,
    file: usize,
    at: usize,
}

impl Write for MemoryFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let mut inner = self.card.lock();
        inner.step()?;
        let length = inner.tree.length(self.file);
        let more = (self.at + bytes.len()).saturating_sub(length);
        if inner.full(more as u64) {
            return Err(io::ErrorKind::StorageFull.into());
        }
        inner.apply(CardOperation::Write {
            file: self.file,
            at: self.at,
            bytes: bytes.to_vec(),
        });
        self.at += bytes.len();
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl Seek for MemoryFile {
    fn seek(&mut self, position: SeekFrom) -> io::Result<u64> {
        let length = self.card.lock().tree.length(self.file) as i64;
        let at = match position {
            SeekFrom::Start(at) => at as i64,
            SeekFrom::End(by) => length + by,
            SeekFrom::Current(by) => self.at as i64 + by,
        };
        self.at = usize::try_from(at).map_err(|_| io::ErrorKind::InvalidInput)?;
        Ok(self.at as u64)
    }
}

impl StoredFile for MemoryFile {
    fn sync(&mut self) -> io::Result<()> {
        let mut inner = self.card.lock();
        inner.step()?;
        inner.apply(CardOperation::SyncFile { file: self.file });
        Ok(())
    }
}

#[cfg(test)]
mod tests;
