//! The words that were heard in a stretch of a trip.

use jumpseat_draft::{AssemblyInput, OverDirection};
use jumpseat_vocabulary::OTHER_WORD;

/// A word that was heard.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct StripWord {
    pub(crate) from_s: f64,
    pub(crate) to_s: f64,
    /// What it is written as: "N" for "november".
    pub(crate) text: String,
    /// As it was spoken.
    pub(crate) spoken: String,
    /// 0 to 1.
    pub(crate) probability: f64,
}

/// The words of one direction between two times, in order.
pub(crate) fn heard(drive: &AssemblyInput, sent: bool, from_s: f64, to_s: f64) -> Vec<StripWord> {
    let direction = if sent {
        OverDirection::Tx
    } else {
        OverDirection::Rx
    };
    let mut words: Vec<StripWord> = drive
        .overs
        .iter()
        .filter(|over| over.direction == direction && over.start_s < to_s && from_s < over.end_s)
        .filter_map(|over| over.heard.as_ref())
        .flat_map(|heard| &heard.words)
        .filter(|word| word.span.start_s < to_s && from_s < word.span.end_s)
        .map(|word| StripWord {
            from_s: word.span.start_s,
            to_s: word.span.end_s,
            text: match (word.symbol.as_str(), word.word.as_str()) {
                ("", OTHER_WORD) => "…".into(),
                ("", said) => said.to_owned(),
                (symbol, _) => symbol.to_uppercase(),
            },
            spoken: match word.word.as_str() {
                OTHER_WORD => "a word that is not known".into(),
                said => said.to_owned(),
            },
            probability: word.probability,
        })
        .collect();
    words.sort_by(|one, other| one.from_s.total_cmp(&other.from_s));
    words
}
