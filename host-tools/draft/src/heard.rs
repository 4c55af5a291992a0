//! What a recogniser heard, as probabilities. Times are seconds of trip time.

use jumpseat_values::Span;
use jumpseat_vocabulary::{WordSense, sense_of};
use serde::{Deserialize, Serialize};

/// Everything that was heard in one over.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct HeardOver {
    /// Call signs, in the order in which they were first said.
    pub signs: Vec<HeardSign>,
    /// Words in order.
    pub words: Vec<HeardWord>,
    /// Signal reports, such as "57".
    pub reports: Vec<HeardText>,
    /// First names.
    pub names: Vec<HeardText>,
    /// Numbers above nine, as figures.
    pub numbers: Vec<HeardText>,
    /// All that was said, word by word; empty where it was not written down.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub text: Vec<WrittenWord>,
}

/// A word of the text of an over.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WrittenWord {
    /// In small letters, as it was spoken; a letter's name is that letter.
    pub word: String,
    /// When.
    pub span: Span,
    /// Probability that it was said, 0 to 1.
    pub probability: f64,
    /// Where a first name follows, the names that it may be, likeliest first; what their
    /// probabilities leave of one is for other names.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub names: Vec<(String, f64)>,
}

/// A call sign, said once or several times in the over.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HeardSign {
    /// What it may have been, likeliest first; the probabilities add up to one at most.
    pub candidates: Vec<(String, f64)>,
    /// Every time that it was said.
    pub spans: Vec<Span>,
}

/// A word.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HeardWord {
    /// In lower case.
    pub word: String,
    /// The letter, figure or number that it stands for; empty for none.
    pub symbol: String,
    /// Whether it is a first name.
    pub is_name: bool,
    /// When.
    pub span: Span,
    /// 0 to 1.
    pub probability: f64,
}

impl HeardWord {
    /// What it means in a contact, if it means something there. The vocabulary is asked and
    /// no stored value, so that drives that were kept before a word had a sense profit too.
    pub(crate) fn sense(&self) -> Option<WordSense> {
        sense_of(&self.word)
    }

    /// Whether it means this in a contact.
    pub(crate) fn means(&self, sense: WordSense) -> bool {
        self.sense() == Some(sense)
    }

    /// Whether it means one of these in a contact.
    pub(crate) fn means_any(&self, senses: &[WordSense]) -> bool {
        self.sense().is_some_and(|sense| senses.contains(&sense))
    }
}

/// A report, a name or a number.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HeardText {
    /// What was said.
    pub text: String,
    /// 0 to 1.
    pub probability: f64,
    /// When.
    pub span: Span,
}
