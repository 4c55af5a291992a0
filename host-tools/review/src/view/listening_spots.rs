//! The places of an entry that are worth listening to, in order of time.

use super::{EntryView, StripWord};

/// Below this a value or a word is worth a second listen (our choice).
const SURE_PROBABILITY: f64 = 0.9;
/// Words with a lower probability are listed too, though no value depends on them.
const UNCLEAR_PROBABILITY: f64 = 0.4;

/// A place to listen at.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ListeningSpot {
    pub(crate) from_s: f64,
    pub(crate) to_s: f64,
    /// The key of the value in question; `None` for a word of no value.
    pub(crate) word: Option<&'static str>,
}

/// Where doubtful values were heard, and the unclear words between them.
pub(crate) fn spots(shown: &EntryView, heard: &[StripWord]) -> Vec<ListeningSpot> {
    let mut spots: Vec<ListeningSpot> = Vec::new();
    for value in &shown.values {
        let sure =
            value.probability.is_some_and(|p| p >= SURE_PROBABILITY) && value.doubts.is_empty();
        if sure || value.text != value.before {
            continue;
        }
        spots.extend(value.heard_s.iter().map(|&(from_s, to_s)| ListeningSpot {
            from_s,
            to_s,
            word: Some(value.field.key()),
        }));
    }
    for word in heard
        .iter()
        .filter(|word| word.probability < UNCLEAR_PROBABILITY)
    {
        let listed = |spot: &ListeningSpot| spot.from_s < word.to_s && word.from_s < spot.to_s;
        if !spots.iter().any(listed) {
            spots.push(ListeningSpot {
                from_s: word.from_s,
                to_s: word.to_s,
                word: None,
            });
        }
    }
    spots.sort_by(|one, other| one.from_s.total_cmp(&other.from_s));
    spots.dedup_by(|one, other| one.from_s == other.from_s && one.to_s == other.to_s);
    spots
}
