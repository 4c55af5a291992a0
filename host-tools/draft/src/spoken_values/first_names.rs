//! First names that many people have: those of the list that `data/first_names.py` makes, and
//! those of the vocabulary, some of which are shorter.

use std::collections::HashSet;
use std::sync::LazyLock;

use jumpseat_vocabulary::tokens;

static NAMES: LazyLock<HashSet<String>> = LazyLock::new(|| {
    let listed = include_str!("../../data/first_names.txt").lines();
    let heard = tokens().iter().filter(|token| token.is_name);
    listed
        .map(str::to_owned)
        .chain(heard.map(|token| token.word.to_uppercase()))
        .collect()
});

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
