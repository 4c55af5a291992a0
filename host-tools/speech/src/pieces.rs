//! What the text decoder writes with: pieces of words, from `model/pieces.tsv`.

use std::collections::HashMap;
use std::sync::LazyLock;

/// The piece that ends a text.
pub const END_PIECE: usize = 0;
/// What every text begins with before its first piece of a word: the decoder was trained so.
pub const PROMPT_PIECES: [usize; 4] = [1, 2, 3, 4];
/// The most pieces of words in a text: the decoder has places for these, the prompt and the end.
pub(crate) const MOST_PIECES: usize = 107;
/// Rows of the table before the first piece of a word: the end and the prompt.
pub(crate) const SPECIAL_PIECES: usize = 1 + PROMPT_PIECES.len();

/// Columns: text, in which '_' is a space, and the row of Whisper's own table.
const TABLE: &str = include_str!("../model/pieces.tsv");

static PIECES: LazyLock<Vec<&'static str>> = LazyLock::new(|| {
    let rows = TABLE.lines().filter(|row| !row.starts_with('#'));
    rows.map(|row| row.split('\t').next().unwrap_or_default())
        .collect()
});

/// The pieces by the rows of the decoder's table; a piece that begins a word begins with '_'.
/// The first five are none of any word: the end, and `PROMPT_PIECES`.
pub fn piece_texts() -> &'static [&'static str] {
    &PIECES
}

static ROWS: LazyLock<HashMap<&str, usize>> = LazyLock::new(|| {
    let numbered = PIECES.iter().enumerate();
    let words = numbered.skip(SPECIAL_PIECES);
    words.map(|(row, text)| (*text, row)).collect()
});

/// The row of a piece of words by its text, if there is such a piece.
pub(crate) fn piece_row(text: &str) -> Option<usize> {
    ROWS.get(text).copied()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn pieces_are_small_letters_each_only_once() {
        let pieces = piece_texts();
        let words = &pieces[SPECIAL_PIECES..];
        assert!(pieces[..SPECIAL_PIECES].iter().all(|p| p.starts_with("<|")));
        for piece in words {
            let letters = piece.strip_prefix('_').unwrap_or(piece);
            let fair = |c: char| c.is_ascii_lowercase() || c == '\'';
            assert!(letters.chars().all(fair) && !piece.is_empty(), "{piece}");
        }
        assert_eq!(words.iter().collect::<BTreeSet<_>>().len(), words.len());
    }

    #[test]
    fn pieces_are_found_by_their_text() {
        for row in [SPECIAL_PIECES, 90, piece_texts().len() - 1] {
            assert_eq!(piece_row(piece_texts()[row]), Some(row));
        }
        assert_eq!(piece_row(piece_texts()[END_PIECE]), None);
        assert_eq!(piece_row("É"), None);
    }
}
