//! What happens to a card, one step at a time.

use super::tree::TreeNode;

/// One numbered operation, kept so that a power cut can be played at any of them.
/// Folders and files are named by their numbers in the tree.
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
    /// After this sync the other operation survives a power cut.
    pub(super) fn covers(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::SyncFile { file }, Self::Write { file: written, .. }) => file == written,
            (Self::SyncDir { dir }, Self::Make { dir: changed, .. })
            | (Self::SyncDir { dir }, Self::Remove { dir: changed, .. }) => dir == changed,
            // Only renames within one folder are made here.
            (Self::SyncDir { dir }, Self::Rename { to, .. }) => *dir == to.0,
            _ => false,
        }
    }
}
