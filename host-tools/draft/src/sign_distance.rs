//! How far apart two call signs are.

use strsim::levenshtein;

/// Letters to insert, delete or change between two texts.
pub(crate) fn distance(one: &str, other: &str) -> usize {
    levenshtein(one, other)
}

/// Whether a text is a call sign, a piece of it, or one letter away from it.
pub(crate) fn is_part_of(text: &str, sign: &str) -> bool {
    !sign.is_empty() && (sign.contains(text) || distance(text, sign) <= 1)
}
