//! The operations on a card.

use super::node::TreeNode;

/// One numbered operation, logged so that a power cut can be replayed at any of them.
/// Folders and files are identified by their numbers in the tree.
#[derive(Debug, Clone)]
pub(super) enum CardOperation {
    /// A new folder or file.
    Make {
        dir: usize,
        name: String,
        node: TreeNode,
    },
    Write {
        file: usize,
        at: usize,
        bytes: Vec<u8>,
    },
    SyncFile {
        file: usize,
    },
    SyncDir {
        dir: usize,
    },
    Rename {
        from: NodeName,
        to: NodeName,
        node: usize,
    },
    Remove {
        dir: usize,
        name: String,
    },
}

/// A folder and a name in it.
pub(super) type NodeName = (usize, String);

impl CardOperation {
    /// Whether the other operation survives a power cut after this sync.
    pub(super) fn covers(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::SyncFile { file }, Self::Write { file: written, .. }) => file == written,
            (Self::SyncDir { dir }, Self::Make { dir: changed, .. })
            | (Self::SyncDir { dir }, Self::Remove { dir: changed, .. }) => dir == changed,
            // The recorder only renames within one folder.
            (Self::SyncDir { dir }, Self::Rename { to, .. }) => *dir == to.0,
            _ => false,
        }
    }
}
