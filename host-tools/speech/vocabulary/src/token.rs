//! A word of the vocabulary.

use crate::WordSense;

/// What sort of word a token is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TokenKind {
    /// A spelling word of ITU Radio Regulations Appendix 14.
    Itu,
    /// A letter said by its own name.
    Letter,
    /// Another spelling word in use: countries, cities, first names (common practice).
    OtherSpelling,
    /// A figure, 0 to 9.
    Figure,
    /// A number word above nine, or a word inside numbers.
    Number,
    /// A word that structures a contact.
    Word,
    /// A first name.
    Name,
    /// Any word that the vocabulary does not have.
    Talk,
}

/// One word of the vocabulary, and one output of the model.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VocabularyToken {
    /// The word, in lower case; `letter-a` for a plain letter, `<word>` for any other word.
    pub word: &'static str,
    /// Its sort.
    pub kind: TokenKind,
    /// The letter or figure, or the number, that it stands for; empty for none.
    pub symbol: &'static str,
    /// Whether it is a first name as well, or only that.
    pub is_name: bool,
    /// What it means in a contact, if it means something there.
    pub sense: Option<WordSense>,
}
