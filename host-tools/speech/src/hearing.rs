//! What was heard in a recording, in seconds since its beginning.

use serde::Serialize;

use crate::fold::FoldedScores;
use crate::signs;

/// Everything heard in one recording.
#[derive(Debug, Clone, Default, Serialize)]
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
    /// Folded scores of every stretch of speech, with its beginning in seconds.
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

/// A call sign, said once or several times.
#[derive(Debug, Clone, Serialize)]
pub struct RecognisedSign {
    /// The most probable sign, in capitals.
    pub text: String,
    /// Its probability, 0 to 1: about how often such a sign is right.
    pub probability: f64,
    /// The decoder's own, which `probability` was fitted from.
    #[serde(skip)]
    pub decoder: f64,
    /// Other readings, most probable first.
    pub alternatives: Vec<AlternativeSign>,
    /// Every time that it was said: (first, end) in seconds.
    pub spans_s: Vec<(f64, f64)>,
}

/// Another reading of a call sign.
#[derive(Debug, Clone, Serialize)]
pub struct AlternativeSign {
    /// The sign.
    pub text: String,
    /// Its probability, 0 to 1: about how often such a reading is right.
    pub probability: f64,
    /// The decoder's own, which `probability` was fitted from.
    #[serde(skip)]
    pub decoder: f64,
}

/// A report, a name or a number.
#[derive(Debug, Clone, Serialize)]
pub struct HeardValue {
    /// What was said: `57`, `Ruth`, `2041`.
    pub text: String,
    /// Probability, 0 to 1.
    pub probability: f64,
    /// First and end, in seconds.
    pub span_s: (f64, f64),
}

impl Hearing {
    /// Probability that `sign` (capital letters and figures) was said between two times
    /// (seconds), whatever else was said there. For known stations and
    /// for comparing signs with one another. 0 where nobody spoke.
    pub fn probability_of(&self, sign: &str, from_s: f64, to_s: f64) -> f64 {
        let not = self.stretches.iter().map(|(start_s, scores)| {
            let step = |at_s: f64| ((at_s - start_s).max(0.0) / crate::recogniser::STEP_S) as usize;
            1.0 - signs::probability(scores, step(from_s)..step(to_s), sign)
        });
        1.0 - not.product::<f64>()
    }
}
