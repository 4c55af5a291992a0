//! From the figures of each name that may have been said to its probability.

use crate::calibration::{
    NAME_CLASS_WEIGHT, NAME_DECODER_WEIGHT, NAME_LETTERS_WEIGHT, NONE_OF_THE_NAMES,
};

/// Less probable names are not told.
const LEAST_NAME_PROBABILITY: f64 = 0.005;
/// The most names that are told of one place.
const MOST_NAMES: usize = 8;

/// A first name that may have been said. The figures are log-probabilities given what was said
/// before, each among all words that there could be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NameFigures {
    /// The name as it is written.
    pub name: &'static str,
    /// How common it is: one more is half as common; 0 for the commonest.
    pub class: u8,
    /// How well it fits by the letters' output.
    pub letters: f64,
    /// How well it fits by the text decoder.
    pub decoder: f64,
}

/// The log of how probable a name with these figures is, but for a constant.
pub(crate) fn name_score(class: u8, letters: f64, decoder: f64) -> f64 {
    NAME_LETTERS_WEIGHT * letters + NAME_DECODER_WEIGHT * decoder
        - NAME_CLASS_WEIGHT * f64::from(class)
}

/// What may have been said where a name follows.
#[derive(Debug, Clone, PartialEq)]
pub struct NameReading {
    /// The names of the list that fit best, in no order.
    pub names: Vec<NameFigures>,
    /// The likeliest letters from the introducing words on: to count what letters are heard as.
    pub heard: String,
}

impl NameReading {
    /// The likeliest names with their probabilities, likeliest first; what is left of one is for
    /// names on no list. Steven and Stephen share theirs by the letters and how common they are.
    pub fn probabilities(&self) -> Vec<(&'static str, f64)> {
        let mut names: Vec<(&'static str, f64)> = self
            .names
            .iter()
            .map(|one| (one.name, name_score(one.class, one.letters, one.decoder)))
            .filter(|(_, score)| score.is_finite())
            .collect();
        let scores = names.iter().map(|(_, score)| *score);
        let most = scores.fold(NONE_OF_THE_NAMES, f64::max);
        let total: f64 = names.iter().map(|(_, score)| (score - most).exp()).sum();
        let total = total + (NONE_OF_THE_NAMES - most).exp();
        names
            .iter_mut()
            .for_each(|(_, score)| *score = (*score - most).exp() / total);
        names.retain(|(_, p)| *p >= LEAST_NAME_PROBABILITY);
        names.sort_by(|a, b| b.1.total_cmp(&a.1));
        names.truncate(MOST_NAMES);
        names
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn named(name: &'static str, class: u8, letters: f64, decoder: f64) -> NameFigures {
        NameFigures {
            name,
            class,
            letters,
            decoder,
        }
    }

    #[track_caller]
    fn check(names: &[NameFigures], order: &[&str]) {
        let reading = NameReading {
            names: names.to_vec(),
            heard: String::new(),
        };
        let got = reading.probabilities();
        let texts: Vec<&str> = got.iter().map(|(name, _)| *name).collect();
        assert_eq!(texts, order, "{got:?}");
        assert!(got.iter().map(|(_, p)| p).sum::<f64>() <= 1.0 + 1e-9);
    }

    #[test]
    fn what_fits_better_or_is_commoner_is_first_and_odd_figures_are_nothing() {
        let steven = named("Steven", 3, -1.0, -1.0);
        let stephen = named("Stephen", 5, -1.0, -1.0);
        let low = named("Stefan", 5, -20.0, -20.0);
        check(&[stephen, steven], &["Steven", "Stephen"]);
        check(&[low, stephen], &["Stephen"]);
        check(&[low], &[]);
        check(&[], &[]);
        check(&[named("Steven", 3, f64::NAN, 0.0), stephen], &["Stephen"]);
        check(&[named("Steven", 3, f64::NEG_INFINITY, 0.0)], &[]);
    }
}
