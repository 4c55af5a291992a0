//! The words that the model knows: letters however they are said, figures, and
//! the words that give a contact its structure. One table, shared with training.

use std::sync::LazyLock;

/// `token <tab> kind <tab> symbol <tab> name? <tab> spoken forms`, one a line.
const TABLE: &str = include_str!("../model/vocabulary.tsv");

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
    /// Any other word.
    Talk,
}

/// One word of the vocabulary.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VocabularyToken {
    /// The word, in lower case; `letter-a` for a plain letter, `<word>` for any other word.
    pub word: &'static str,
    /// Its sort.
    pub kind: TokenKind,
    /// The letter or figure, or the number, that it stands for; empty for none.
    pub symbol: &'static str,
    /// Whether it is a first name as well.
    pub is_name: bool,
}

static TOKENS: LazyLock<Vec<VocabularyToken>> = LazyLock::new(|| {
    let lines = TABLE
        .lines()
        .filter(|line| !line.is_empty() && !line.starts_with('#'));
    lines.filter_map(parse).collect()
});

/// All tokens. Token k is output k + 1 of the model; output 0 is the CTC blank.
pub fn tokens() -> &'static [VocabularyToken] {
    &TOKENS
}

/// Outputs of the model, the blank included.
pub fn output_count() -> usize {
    TOKENS.len() + 1
}

fn parse(line: &'static str) -> Option<VocabularyToken> {
    let mut fields = line.split('\t');
    let (word, kind, symbol, name) = (
        fields.next()?,
        fields.next()?,
        fields.next()?,
        fields.next()?,
    );
    let kind = match kind {
        "itu" => TokenKind::Itu,
        "letter" => TokenKind::Letter,
        "other" => TokenKind::OtherSpelling,
        "figure" => TokenKind::Figure,
        "number" => TokenKind::Number,
        "word" => TokenKind::Word,
        "name" => TokenKind::Name,
        _ => TokenKind::Talk,
    };
    let symbol = if symbol == "-" { "" } else { symbol };
    Some(VocabularyToken {
        word,
        kind,
        symbol,
        is_name: name == "name",
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ITU Radio Regulations, Appendix 14: the spelling words, A to Z.
    const APPENDIX_14: [&str; 26] = [
        "alfa", "bravo", "charlie", "delta", "echo", "foxtrot", "golf", "hotel", "india",
        "juliett", "kilo", "lima", "mike", "november", "oscar", "papa", "quebec", "romeo",
        "sierra", "tango", "uniform", "victor", "whiskey", "x-ray", "yankee", "zulu",
    ];

    #[test]
    fn spelling_words_are_those_of_the_radio_regulations() {
        let itu: Vec<_> = tokens()
            .iter()
            .filter(|t| t.kind == TokenKind::Itu)
            .collect();
        assert_eq!(itu.len(), 26);
        for (token, (word, letter)) in itu.iter().zip(APPENDIX_14.iter().zip('A'..='Z')) {
            assert_eq!(
                (token.word, token.symbol),
                (*word, letter.to_string().as_str())
            );
        }
    }

    #[test]
    fn every_line_of_the_table_is_a_token_and_figures_are_whole() {
        let lines = TABLE
            .lines()
            .filter(|l| !l.starts_with('#') && !l.is_empty())
            .count();
        assert_eq!(tokens().len(), lines);
        let figures: String = tokens()
            .iter()
            .filter(|t| t.kind == TokenKind::Figure)
            .map(|t| t.symbol)
            .collect();
        assert_eq!(figures, "0123456789");
    }
}
