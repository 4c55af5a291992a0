//! What was heard in a recording, in seconds since its beginning.
//!
//! Serialised it is what `jumpseat hear --json` prints, and what a draft keeps of an over so
//! that it is not heard twice.

use jumpseat_vocabulary::tokens;
use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize};

use crate::acoustic::STEP_S;
use crate::fold::FoldedScores;
use crate::signs;

/// Everything heard in one recording.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Hearing {
    /// Where somebody spoke: (first, end) in seconds.
    pub speech: Vec<(f64, f64)>,
    /// Words in order.
    pub words: Vec<RecognisedWord>,
    /// Call signs, in the order in which they were first said.
    pub signs: Vec<RecognisedSign>,
    /// Signal reports.
    pub reports: Vec<HeardValue>,
    /// First names said after 'name'.
    pub names: Vec<HeardValue>,
    /// Numbers above nine, as figures.
    pub numbers: Vec<HeardValue>,
    /// All that was said, word by word; empty where it was not asked for.
    #[serde(default)]
    pub transcript: Vec<TranscriptWord>,
    /// Folded scores of every stretch of speech, with its beginning in seconds. Not
    /// serialised: a hearing that was read has none.
    #[serde(skip)]
    pub(crate) stretches: Vec<(f64, FoldedScores)>,
}

/// A word of the vocabulary.
#[derive(Debug, Clone, Serialize)]
pub struct RecognisedWord {
    /// The word; `letter-k` for a letter's name, `<word>` for one that is not in the vocabulary.
    pub word: &'static str,
    /// The letter, figure or number that it stands for; empty for none.
    pub symbol: &'static str,
    /// Whether it is a first name as well, or only that.
    pub is_name: bool,
    /// First and end, in seconds.
    pub span_s: (f64, f64),
    /// Probability of the word at its clearest 40 ms, 0 to 1.
    pub probability: f64,
    /// Other words that it may have been, with their probabilities.
    pub alternatives: Vec<(&'static str, f64)>,
}

/// A word as it is read from a file: the vocabulary has the rest.
#[derive(Deserialize)]
struct StoredWord {
    word: String,
    span_s: (f64, f64),
    probability: f64,
    alternatives: Vec<(String, f64)>,
}

impl<'de> Deserialize<'de> for RecognisedWord {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let stored = StoredWord::deserialize(deserializer)?;
        Self::try_from(stored).map_err(D::Error::custom)
    }
}

impl TryFrom<StoredWord> for RecognisedWord {
    type Error = String;

    fn try_from(stored: StoredWord) -> Result<Self, String> {
        let token = |word: &str| {
            let found = tokens().iter().find(|token| token.word == word);
            found.ok_or_else(|| format!("the vocabulary has no word '{word}'"))
        };
        let known = token(&stored.word)?;
        let alternatives = stored.alternatives.iter();
        Ok(Self {
            word: known.word,
            symbol: known.symbol,
            is_name: known.is_name,
            span_s: stored.span_s,
            probability: stored.probability,
            alternatives: alternatives
                .map(|(word, probability)| Ok((token(word)?.word, *probability)))
                .collect::<Result<_, String>>()?,
        })
    }
}

/// A call sign, said once or several times.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct RecognisedSign {
    /// The most probable sign, in capitals.
    pub text: String,
    /// Its probability, 0 to 1: about how often such a sign is right.
    pub probability: f64,
    /// The decoder's own, before calibration. Not serialised: a hearing that was read has none.
    #[serde(skip)]
    pub decoder: Option<f64>,
    /// Other readings, most probable first.
    pub alternatives: Vec<AlternativeSign>,
    /// Every time that it was said: (first, end) in seconds.
    pub spans_s: Vec<(f64, f64)>,
}

/// Another reading of a call sign.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct AlternativeSign {
    /// The sign.
    pub text: String,
    /// Its probability, 0 to 1: about how often such a reading is right.
    pub probability: f64,
    /// The decoder's own, before calibration. Not serialised: a hearing that was read has none.
    #[serde(skip)]
    pub decoder: Option<f64>,
}

/// A report, a name or a number.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct HeardValue {
    /// What was said: `57`, `Ruth`, `2041`.
    pub text: String,
    /// Probability, 0 to 1.
    pub probability: f64,
    /// First and end, in seconds.
    pub span_s: (f64, f64),
}

/// A word of the transcript.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TranscriptWord {
    /// The word as it is spoken: small letters and apostrophes; a letter's name is that letter.
    pub text: String,
    /// First and end, in seconds.
    pub span_s: (f64, f64),
    /// Probability that the word was said there, 0 to 1.
    pub probability: f64,
    /// Where a first name follows ('name is'): the names that it may be, as they are written,
    /// likeliest first; what their probabilities leave of one is for names on no list.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub names: Vec<(String, f64)>,
}

/// A word of the transcript below this probability is doubtful: shown so, and not to be relied on.
/// Of the words from here on, 7 % were not said; from 0.7 on 18 % (`model/MODEL.md`).
pub const DOUBTFUL_WORD: f64 = 0.8;

impl TranscriptWord {
    /// Whether somebody should be told that this word may be wrong.
    pub fn is_doubtful(&self) -> bool {
        self.probability < DOUBTFUL_WORD
    }
}

impl Hearing {
    /// Probability that `sign` (capital letters and figures) was said between two times
    /// (seconds), whatever else was said there: for known stations, and for comparing signs
    /// with one another. Nothing where there are no scores to ask: nobody spoke in the
    /// recording, or the hearing was read from a file.
    pub fn probability_of(&self, sign: &str, from_s: f64, to_s: f64) -> Option<f64> {
        if self.stretches.is_empty() {
            return None;
        }
        let not = self.stretches.iter().map(|(start_s, scores)| {
            let step = |at_s: f64| ((at_s - start_s).max(0.0) / STEP_S) as usize;
            1.0 - signs::probability(scores, step(from_s)..step(to_s), sign)
        });
        Some(1.0 - not.product::<f64>())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_written_is_read_again() {
        let hearing = Hearing {
            words: vec![RecognisedWord {
                word: "alfa",
                symbol: "A",
                is_name: false,
                span_s: (0.1, 0.30000000000000004),
                probability: 0.9,
                alternatives: vec![("<word>", 0.05)],
            }],
            signs: vec![RecognisedSign {
                text: "W7QTM".into(),
                probability: 0.7,
                decoder: Some(0.8),
                alternatives: Vec::new(),
                spans_s: vec![(0.1, 2.0)],
            }],
            transcript: vec![TranscriptWord {
                text: "alfa".into(),
                span_s: (0.1, 0.3),
                probability: 0.9,
                names: vec![("Alfa".into(), 0.5)],
            }],
            ..Hearing::default()
        };
        let text = serde_json::to_string(&hearing).unwrap();
        let read: Hearing = serde_json::from_str(&text).unwrap();
        assert_eq!(serde_json::to_string(&read).unwrap(), text);
        assert_eq!(read.signs[0].decoder, None);
        assert_eq!(read.probability_of("W7QTM", 0.0, 9.0), None);
        assert_eq!(read.transcript, hearing.transcript);
        let unknown = text.replace("alfa", "no such word");
        let error = serde_json::from_str::<Hearing>(&unknown).unwrap_err();
        assert!(error.to_string().contains("no such word"), "{error}");
    }

    #[test]
    fn what_was_written_before_there_were_transcripts_is_read() {
        let old =
            r#"{"speech":[[0.5,1.5]],"words":[],"signs":[],"reports":[],"names":[],"numbers":[]}"#;
        let read: Hearing = serde_json::from_str(old).unwrap();
        assert_eq!((read.speech.len(), read.transcript.len()), (1, 0));
    }
}
