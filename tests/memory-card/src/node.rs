//! A folder or a file in the tree.

use std::collections::BTreeMap;

/// A folder's names or a file's bytes.
#[derive(Debug, Clone)]
pub(super) enum TreeNode {
    Dir(BTreeMap<String, usize>),
    File(Vec<u8>),
}
