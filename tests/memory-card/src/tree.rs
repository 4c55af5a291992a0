//! Folders and files by number, so that a name is separate from what it names.

use std::collections::BTreeMap;
use std::io;
use std::path::{Component, Path, PathBuf};

use super::node::TreeNode;
use super::operation::CardOperation;

/// Everything on a card: path to bytes, `None` for a folder.
pub type CardContents = BTreeMap<PathBuf, Option<Vec<u8>>>;

/// All nodes ever made; number 0 is the root.
#[derive(Debug, Clone)]
pub(super) struct CardTree {
    nodes: Vec<TreeNode>,
}

impl Default for CardTree {
    fn default() -> Self {
        Self {
            nodes: vec![TreeNode::Dir(BTreeMap::new())],
        }
    }
}

impl CardTree {
    /// Adds a node without a name; gives its number.
    pub(super) fn add(&mut self, node: TreeNode) -> usize {
        self.nodes.push(node);
        self.nodes.len() - 1
    }

    pub(super) fn child(&self, dir: usize, name: &str) -> Option<usize> {
        match self.nodes.get(dir) {
            Some(TreeNode::Dir(names)) => names.get(name).copied(),
            _ => None,
        }
    }

    pub(super) fn names(&self, dir: usize) -> Vec<String> {
        match self.nodes.get(dir) {
            Some(TreeNode::Dir(names)) => names.keys().cloned().collect(),
            _ => Vec::new(),
        }
    }

    pub(super) fn length(&self, file: usize) -> usize {
        match self.nodes.get(file) {
            Some(TreeNode::File(bytes)) => bytes.len(),
            _ => 0,
        }
    }

    /// Bytes in all files that have a name.
    pub(super) fn bytes(&self) -> u64 {
        self.below(0)
    }

    fn below(&self, node: usize) -> u64 {
        match self.nodes.get(node) {
            Some(TreeNode::Dir(names)) => names.values().map(|&child| self.below(child)).sum(),
            Some(TreeNode::File(bytes)) => bytes.len() as u64,
            None => 0,
        }
    }

    fn find(&self, path: &Path) -> Option<usize> {
        let mut node = 0;
        for part in path.components() {
            if let Component::Normal(name) = part {
                node = self.child(node, &name.to_string_lossy())?;
            }
        }
        Some(node)
    }

    pub(super) fn dir(&self, path: &Path) -> io::Result<usize> {
        let node = self.find(path).ok_or(io::ErrorKind::NotFound)?;
        match self.nodes.get(node) {
            Some(TreeNode::Dir(_)) => Ok(node),
            _ => Err(io::ErrorKind::NotADirectory.into()),
        }
    }

    pub(super) fn file(&self, path: &Path) -> io::Result<&[u8]> {
        let node = self.find(path).ok_or(io::ErrorKind::NotFound)?;
        match self.nodes.get(node) {
            Some(TreeNode::File(bytes)) => Ok(bytes),
            _ => Err(io::ErrorKind::IsADirectory.into()),
        }
    }

    /// Carries an operation out; a sync changes nothing here.
    pub(super) fn apply(&mut self, operation: &CardOperation) {
        match operation {
            CardOperation::Make { dir, name, node } => {
                let node = self.add(node.clone());
                self.link(*dir, name, node);
            }
            CardOperation::Write { file, at, bytes } => self.write(*file, *at, bytes),
            CardOperation::Rename { from, to, node } => {
                self.unlink(from.0, &from.1);
                self.link(to.0, &to.1, *node);
            }
            CardOperation::Remove { dir, name } => self.unlink(*dir, name),
            CardOperation::SyncFile { .. } | CardOperation::SyncDir { .. } => {}
        }
    }

    pub(super) fn link(&mut self, dir: usize, name: &str, node: usize) {
        if let Some(TreeNode::Dir(names)) = self.nodes.get_mut(dir) {
            names.insert(name.to_owned(), node);
        }
    }

    pub(super) fn unlink(&mut self, dir: usize, name: &str) {
        if let Some(TreeNode::Dir(names)) = self.nodes.get_mut(dir) {
            names.remove(name);
        }
    }

    pub(super) fn write(&mut self, file: usize, at: usize, bytes: &[u8]) {
        if let Some(TreeNode::File(held)) = self.nodes.get_mut(file) {
            let end = at + bytes.len();
            if held.len() < end {
                // The bytes between were never written: zeros.
                held.resize(end, 0);
            }
            if let Some(place) = held.get_mut(at..end) {
                place.copy_from_slice(bytes);
            }
        }
    }

    pub(super) fn shape(&self) -> CardContents {
        let mut shape = CardContents::new();
        self.gather(0, Path::new(""), &mut shape);
        shape
    }

    fn gather(&self, node: usize, path: &Path, shape: &mut CardContents) {
        match self.nodes.get(node) {
            Some(TreeNode::Dir(names)) => {
                if node != 0 {
                    shape.insert(path.to_owned(), None);
                }
                for (name, &child) in names {
                    self.gather(child, &path.join(name), shape);
                }
            }
            Some(TreeNode::File(bytes)) => {
                shape.insert(path.to_owned(), Some(bytes.clone()));
            }
            None => {}
        }
    }
}
