//! Looks for a phrase in what was said.

use std::ops::Range;

use jumpseat_vocabulary::{TokenKind, VocabularyToken, tokens};

use crate::transcript::SaidWord;

/// A longer pause, in seconds, ends a sentence, and no phrase goes on after it (our choice).
const SENTENCE_PAUSE_S: f64 = 1.5;
/// An abbreviation of at most so many letters may have been written as its letters: `q s l`.
const MAX_ABBREVIATION_CHARS: usize = 8;
/// Ways to write a word that are taken for one another.
const SPELLED_ALIKE: [(&str, &str); 6] = [
    ("alpha", "alfa"),
    ("juliet", "juliett"),
    ("whisky", "whiskey"),
    ("niner", "nine"),
    ("fife", "five"),
    ("fower", "four"),
];

/// Words to look for, in this order. Capital letters make no difference, and only whole words
/// match; a word with a star at its end stands for all that begin so. Figures and the letters
/// of an abbreviation or a call sign are also found as they are spoken: `73` as "seven three"
/// or "seventy three", `QSL` as "q s l" or "quebec sierra lima".
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SearchPhrase {
    /// For every word the ways in which it may stand in a transcript.
    words: Vec<Vec<WordReading>>,
}

/// One way in which a word may stand in a transcript: as one word or several.
type WordReading = Vec<WordPattern>;

#[derive(Debug, Clone, PartialEq, Eq)]
enum WordPattern {
    /// One of these words.
    OneOf(Vec<String>),
    /// Any word that begins so.
    Prefix(String),
}

/// Why something cannot be looked for.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PhraseError {
    /// There is no word in it.
    #[error("'{0}' has no word to look for (examples: antenna, \"nice signal\", anten*)")]
    NoWord(String),
    /// A star that is not at the end of a word.
    #[error(
        "in '{0}' a star is not at the end of a word; a star stands only there, after at least \
         one letter (example: anten*)"
    )]
    Star(String),
}

impl SearchPhrase {
    /// Reads a phrase that a person typed.
    ///
    /// # Errors
    /// [`PhraseError`] if there is no word in it, or a star in the wrong place.
    pub fn parse(text: &str) -> Result<Self, PhraseError> {
        let mut words = Vec::new();
        let apart = |sign: char| !sign.is_alphanumeric() && !"'\u{2019}*".contains(sign);
        for word in text.split(apart).filter(|word| !word.is_empty()) {
            let word = plain(word);
            let (stem, begins) = match word.strip_suffix('*') {
                Some(stem) => (stem, true),
                None => (word.as_str(), false),
            };
            if stem.contains('*') || (begins && stem.is_empty()) {
                return Err(PhraseError::Star(text.to_owned()));
            }
            if !stem.contains(char::is_alphanumeric) {
                continue;
            }
            words.push(if begins {
                vec![vec![WordPattern::Prefix(stem.to_owned())]]
            } else {
                readings(stem)
            });
        }
        if words.is_empty() {
            return Err(PhraseError::NoWord(text.to_owned()));
        }
        Ok(Self { words })
    }

    /// Where the phrase stands in the words of one over: ranges of their indices, in order,
    /// that do not overlap.
    pub fn find(&self, words: &[SaidWord]) -> Vec<Range<usize>> {
        let said: Vec<String> = words.iter().map(|word| plain(&word.text)).collect();
        let mut found = Vec::new();
        for sentence in spoken_sentences(words) {
            let mut first = sentence.start;
            while first < sentence.end {
                match end_of(&self.words, &said[..sentence.end], first) {
                    Some(end) => {
                        found.push(first..end);
                        first = end;
                    }
                    None => first += 1,
                }
            }
        }
        found
    }
}

/// The words of an over, parted at its pauses.
pub fn spoken_sentences(words: &[SaidWord]) -> Vec<Range<usize>> {
    let mut sentences = Vec::new();
    let mut first = 0;
    for end in 1..=words.len() {
        let goes_on = words.get(end).is_some_and(|next| {
            let last_s = words.get(end - 1).map_or(f64::NEG_INFINITY, |w| w.span_s.1);
            next.span_s.0 - last_s <= SENTENCE_PAUSE_S
        });
        if !goes_on {
            sentences.push(first..end);
            first = end;
        }
    }
    sentences
}

/// Where the phrase ends that begins with the word `first`, if it does.
fn end_of(phrase: &[Vec<WordReading>], said: &[String], first: usize) -> Option<usize> {
    let Some((word, rest)) = phrase.split_first() else {
        return Some(first);
    };
    word.iter().find_map(|reading| {
        let there = said.get(first..first + reading.len())?;
        let all = reading.iter().zip(there).all(|(one, said)| one.fits(said));
        if all {
            end_of(rest, said, first + reading.len())
        } else {
            None
        }
    })
}

impl WordPattern {
    fn of(word: &str) -> Self {
        Self::OneOf(vec![word.to_owned()])
    }

    fn fits(&self, said: &str) -> bool {
        match self {
            Self::OneOf(words) => words.iter().any(|word| word == said),
            Self::Prefix(stem) => said.starts_with(stem),
        }
    }
}

/// Small letters, one kind of apostrophe, one spelling, no hyphen.
fn plain(text: &str) -> String {
    let text = text
        .to_lowercase()
        .replace('\u{2019}', "'")
        .replace('-', "");
    let alike = SPELLED_ALIKE.iter().find(|(other, _)| *other == text);
    alike.map_or(text, |(_, usual)| (*usual).to_owned())
}

/// How a word of small letters and figures may stand in a transcript.
fn readings(word: &str) -> Vec<WordReading> {
    let mut readings = vec![vec![WordPattern::of(word)]];
    let abbreviation = (1..=MAX_ABBREVIATION_CHARS).contains(&word.chars().count());
    if abbreviation && word.bytes().all(|sign| sign.is_ascii_alphanumeric()) {
        readings.push(word.chars().map(spoken).collect());
    }
    let number = |value: u32| {
        let value = value.to_string();
        let named = |token: &&VocabularyToken| {
            matches!(token.kind, TokenKind::Figure | TokenKind::Number) && token.symbol == value
        };
        tokens()
            .iter()
            .find(named)
            .map(|token| WordPattern::of(token.word))
    };
    if let (2, Ok(value)) = (word.len(), word.parse::<u32>()) {
        let parts: Option<WordReading> = match (number(value), value % 10) {
            (Some(whole), _) => Some(vec![whole]),
            (None, 0) => None,
            (None, ones) => number(value - ones)
                .zip(number(ones))
                .map(|(t, o)| vec![t, o]),
        };
        readings.extend(parts);
    }
    readings
}

/// A letter or a figure as it is spoken: by its name, or by a word that spells it.
fn spoken(sign: char) -> WordPattern {
    let symbol = sign.to_ascii_uppercase().to_string();
    let stands = tokens().iter().filter(|token| token.symbol == symbol);
    let mut words = vec![sign.to_string()];
    words.extend(stands.map(|token| plain(token.word)));
    if sign == '0' {
        words.push("oh".to_owned());
        words.push("o".to_owned());
    }
    WordPattern::OneOf(words)
}

#[cfg(test)]
mod tests;
