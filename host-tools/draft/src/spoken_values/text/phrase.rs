//! Words of a text that belong together, without the sounds between them.

use std::collections::{HashMap, HashSet};
use std::sync::LazyLock;

use jumpseat_values::Span;
use jumpseat_vocabulary::tokens;

use crate::heard::WrittenWord;

/// After a longer pause something new is said, in seconds (our choice).
const PHRASE_PAUSE_S: f64 = 2.5;
/// Sounds that mean nothing.
const HESITATIONS: &str = "\
    uh um er erm ah eh hm hmm mm";
/// First names that are said as other words as well: where only a name's place in the sentence
/// tells, they are none.
const OTHER_WORDS_TOO: &str = "\
    april art august austin bill carolina chance charity christian dakota dallas dawn \
    dusty earnest elmer faith florida frank georgia gay grace grant guy hope houston \
    jackson joy june king long love madison major mark may melody merry miles patience \
    pearl price rich rob rocky roger see so son sun virginia will windy wood young";

static PLAIN_WORDS: LazyLock<HashSet<&str>> = LazyLock::new(|| {
    include_str!("../../../data/plain_words.txt")
        .lines()
        .collect()
});

static SYMBOLS: LazyLock<HashMap<&str, &str>> = LazyLock::new(|| {
    tokens()
        .iter()
        .map(|token| (token.word, token.symbol))
        .collect()
});

/// Whether a list of words, with single spaces, has this one.
pub(super) fn has(list: &str, word: &str) -> bool {
    list.split(' ').any(|one| one == word)
}

/// Words of one over that follow one another without a long pause.
pub(super) struct SpokenPhrase<'a> {
    words: Vec<&'a WrittenWord>,
}

impl<'a> SpokenPhrase<'a> {
    /// The phrases of a text.
    pub(super) fn all(text: &'a [WrittenWord]) -> Vec<Self> {
        let mut out: Vec<Self> = Vec::new();
        let mut ended_s = f64::NEG_INFINITY;
        for word in text {
            if word.span.start_s - ended_s > PHRASE_PAUSE_S {
                out.push(Self { words: Vec::new() });
            }
            ended_s = word.span.end_s;
            let phrase = out.last_mut();
            if let Some(phrase) = phrase.filter(|_| !has(HESITATIONS, word.word.as_str())) {
                phrase.words.push(word);
            }
        }
        out
    }

    pub(super) fn len(&self) -> usize {
        self.words.len()
    }

    /// The word at a place; empty outside the phrase.
    pub(super) fn word(&self, at: usize) -> &'a str {
        self.words.get(at).map_or("", |word| word.word.as_str())
    }

    /// The word that many places before; empty outside the phrase.
    pub(super) fn before(&self, at: usize, places: usize) -> &'a str {
        at.checked_sub(places).map_or("", |at| self.word(at))
    }

    /// The place after one of these sequences of words, if it stands there.
    pub(super) fn after_one(&self, at: usize, sequences: &[&str]) -> Option<usize> {
        let end = |sequence: &&str| {
            let mut end = at;
            sequence
                .split(' ')
                .all(|word| {
                    end += 1;
                    self.word(end - 1) == word
                })
                .then_some(end)
        };
        sequences.iter().find_map(end)
    }

    /// Whether one of these sequences of words stands right before a place.
    pub(super) fn is_after_one(&self, at: usize, sequences: &[&str]) -> bool {
        sequences.iter().any(|sequence| {
            let first = at.checked_sub(sequence.split(' ').count());
            first.is_some_and(|first| self.after_one(first, &[*sequence]).is_some())
        })
    }

    /// Probability of the word there, 0 to 1.
    pub(super) fn probability(&self, at: usize) -> f64 {
        let word = self.words.get(at);
        word.map_or(0.0, |word| word.probability.clamp(0.0, 1.0))
    }

    /// The names that the word there may be by its sound, likeliest first.
    pub(super) fn names(&self, at: usize) -> &'a [(String, f64)] {
        self.words.get(at).map_or(&[], |word| &word.names)
    }

    /// From the beginning of one word to the end of another.
    pub(super) fn span(&self, first: usize, last: usize) -> Span {
        let ends = self.words.get(first).zip(self.words.get(last));
        ends.map_or(Span::new(0.0, 0.0), |(first, last)| {
            Span::new(first.span.start_s, last.span.end_s)
        })
    }

    /// Seconds between a word and the one before it; none at the beginning.
    pub(super) fn pause_before_s(&self, at: usize) -> Option<f64> {
        let before = self.words.get(at.checked_sub(1)?)?;
        Some(self.words.get(at)?.span.start_s - before.span.end_s)
    }
}

/// Whether it is a word of everyday talk, and nobody's name.
pub(super) fn is_plain(word: &str) -> bool {
    PLAIN_WORDS.contains(word)
}

/// Whether a first name is another word as well.
pub(super) fn is_other_word_too(name: &str) -> bool {
    has(OTHER_WORDS_TOO, name)
}

/// The letter or figure that a word stands for when things are spelled; empty for none.
pub(super) fn symbol(word: &str) -> &str {
    match word {
        "alpha" => "A",
        "juliet" => "J",
        "whisky" => "W",
        "xray" => "X",
        "zed" => "Z",
        "fife" => "5",
        "niner" => "9",
        "fower" => "4",
        "oh" => "0",
        _ if word.len() == 1 => letter(word),
        _ => SYMBOLS.get(word).copied().unwrap_or(""),
    }
}

/// A letter's own name, or a figure.
fn letter(word: &str) -> &str {
    const NAMES: &str = "ABCDEFGHIJKLMNOPQRSTUVWXYZ";
    match word.as_bytes() {
        [small @ b'a'..=b'z'] => {
            let at = usize::from(small - b'a');
            NAMES.get(at..=at).unwrap_or("")
        }
        [b'0'..=b'9'] => word,
        _ => "",
    }
}
