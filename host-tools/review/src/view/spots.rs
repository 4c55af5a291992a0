//! The places of an entry where one should listen, in order of time.

use super::{Heard, Shown};

/// Below this a value or a word is worth a second listen (our choice).
const SURE: f64 = 0.9;
/// Words with less are named too, though nothing hangs on them.
const UNCLEAR: f64 = 0.4;

/// A place to listen at.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Spot {
    pub(crate) from_s: f64,
    pub(crate) to_s: f64,
    /// The key of the value in question; `None` for a word of no value.
    pub(crate) word: Option<&'static str>,
}

/// Where the doubtful values were heard, then the unclear words between them.
pub(crate) fn spots(shown: &Shown, heard: &[Heard]) -> Vec<Spot> {
    let mut spots: Vec<Spot> = Vec::new();
    for value in &shown.values {
        let sure = value.probability.is_some_and(|p| p >= SURE) && value.doubts.is_empty();
        if sure || value.text != value.before {
            continue;
        }
        spots.extend(value.heard_s.iter().map(|&(from_s, to_s)| Spot {
            from_s,
            to_s,
            word: Some(value.word.key()),
        }));
    }
    for word in heard.iter().filter(|word| word.probability < UNCLEAR) {
        let told = |spot: &Spot| spot.from_s < word.to_s && word.from_s < spot.to_s;
        if !spots.iter().any(told) {
            spots.push(Spot {
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
