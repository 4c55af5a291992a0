//! First names that many people have. `data/first_names.py` makes the list.

use std::collections::HashSet;
use std::sync::LazyLock;

static NAMES: LazyLock<HashSet<&str>> =
    LazyLock::new(|| include_str!("../../data/first_names.txt").lines().collect());

/// Whether this is one; in capitals.
pub(super) fn is_known(name: &str) -> bool {
    NAMES.contains(name)
}

/// A name as it is written.
pub(super) fn capital(word: &str) -> String {
    let mut text = word.to_lowercase();
    if let Some(first) = text.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    text
}
