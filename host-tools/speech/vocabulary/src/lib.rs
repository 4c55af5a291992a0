//! The words that the recogniser knows: letters however they are said, figures, and the
//! words that give a contact its structure, with what they mean there.
//!
//! `model/vocabulary.tsv` is the one table of them, for training, for the decoder and for
//! whoever makes something of what was heard. More spelling words, or those of another
//! language, go into that table; the model is then trained again (DEVELOPERS.md).
#![forbid(unsafe_code)]

mod sense;
mod token;

pub use sense::WordSense;
pub use token::{TokenKind, VocabularyToken};

include!(concat!(env!("OUT_DIR"), "/table.rs"));

/// The token for any word that the vocabulary does not have.
pub const OTHER_WORD: &str = "<word>";

/// All tokens. Token k is output k + 1 of the model; output 0 is the CTC blank.
pub fn tokens() -> &'static [VocabularyToken] {
    TOKENS
}

/// Outputs of the model, the blank included.
pub fn output_count() -> usize {
    TOKENS.len() + 1
}

/// What `word` (a token's, in lower case) means in a contact; nothing for words that mean
/// nothing there or that the vocabulary does not have.
pub fn sense_of(word: &str) -> Option<WordSense> {
    table_sense(word)
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
    fn figures_are_zero_to_nine_and_one_token_stands_for_other_words() {
        let of_kind = |kind| tokens().iter().filter(move |t| t.kind == kind);
        let figures: String = of_kind(TokenKind::Figure).map(|t| t.symbol).collect();
        assert_eq!(figures, "0123456789");
        let other: Vec<&str> = of_kind(TokenKind::Talk).map(|t| t.word).collect();
        assert_eq!(other, [OTHER_WORD]);
    }

    #[test]
    fn a_word_has_the_sense_that_its_line_names() {
        for token in tokens() {
            assert_eq!(sense_of(token.word), token.sense, "{}", token.word);
        }
        assert_eq!(sense_of("cq"), Some(WordSense::GeneralCall));
        assert_eq!(sense_of("signal"), Some(WordSense::Report));
        assert_eq!(sense_of("alfa"), None);
        assert_eq!(sense_of("no such word"), None);
    }
}
