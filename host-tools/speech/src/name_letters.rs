//! Letters as they are heard in names: 'jefry' for Jeffrey. A name's letter may be heard as
//! another or not at all, and others may be heard between.

use std::sync::LazyLock;

use crate::letters::{BLANK_OUTPUT, LETTER_OUTPUTS, SPACE_OUTPUT, letter_output};

/// Row after row a letter of names, then how often it is heard as nothing, as a, b, … z, for
/// each time that it is heard as itself: `model/named.py letters` counts it. Were these shares of
/// all times, a long name would fit the less the more letters it has.
const TABLE: &str = include_str!("../model/name_letters.tsv");
/// How often a letter is heard between those of a name, and a space within it (our choice).
const LETTER_BETWEEN: f32 = 0.03;
const SPACE_WITHIN: f32 = 0.01;

/// A letter's output, and the outputs it is heard as with how often that is.
type HeardAs = (usize, Vec<(usize, f32)>);

static HEARD_AS: LazyLock<Vec<HeardAs>> =
    LazyLock::new(|| TABLE.lines().filter_map(heard_as).collect());

fn heard_as(row: &str) -> Option<HeardAs> {
    let (letter, shares) = row.split_once('\t')?;
    let letter = letter.parse().ok().and_then(letter_output)?;
    let outputs = std::iter::once(BLANK_OUTPUT).chain(('a'..='z').filter_map(letter_output));
    let shares = shares.split('\t').map(str::parse::<f32>);
    let heard = outputs
        .zip(shares)
        .map(|(output, share)| Some((output, share.ok()?)));
    Some((letter, heard.collect::<Option<_>>()?))
}

/// The letters' output (log-probabilities) as scores of the letters that names are written with:
/// of each letter the sum over all that it is heard as.
pub(crate) fn as_name_letters(letters: &[f32]) -> Vec<f32> {
    let mut out = letters.to_vec();
    for row in out.chunks_exact_mut(LETTER_OUTPUTS) {
        let heard: Vec<f32> = row.iter().map(|score| score.exp()).collect();
        for (letter, shares) in HEARD_AS.iter() {
            let sum: f32 = shares.iter().map(|(output, p)| p * heard[*output]).sum();
            row[*letter] = sum.min(1.0).ln();
        }
        let (nothing, space) = (heard[BLANK_OUTPUT], heard[SPACE_OUTPUT]);
        let letter = (1.0 - nothing - space).max(0.0);
        row[BLANK_OUTPUT] = (nothing + LETTER_BETWEEN * letter + SPACE_WITHIN * space).ln();
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::alignment::{LabelScores, log_probability};

    /// How well a name fits where surely these letters are heard.
    fn fit(name: &str, heard: &str) -> f64 {
        let mut letters = Vec::new();
        for letter in heard.chars() {
            for output in [letter_output(letter).unwrap(), BLANK_OUTPUT, BLANK_OUTPUT] {
                let mut row = vec![1e-6_f32.ln(); LETTER_OUTPUTS];
                row[output] = 0.0;
                letters.extend(row);
            }
        }
        let labels: Vec<usize> = name.chars().filter_map(letter_output).collect();
        let scores = as_name_letters(&letters);
        log_probability(LabelScores::new(&scores, LETTER_OUTPUTS), &labels)
    }

    #[test]
    fn every_letter_is_heard_as_something_and_mostly_as_itself() {
        assert_eq!(HEARD_AS.len(), 26);
        for (letter, shares) in HEARD_AS.iter() {
            assert_eq!(shares.len(), 27);
            for (output, share) in shares {
                assert!((0.0..=1.0).contains(share) && (*share < 1.0 || output == letter));
            }
        }
    }

    #[test]
    fn names_fit_what_sounds_like_them() {
        for (name, heard, other) in [
            ("jeffrey", "jefry", "henry"),
            ("kathleigh", "kathley", "karen"),
            ("dominic", "dominick", "monica"),
            ("justin", "just in", "joseph"),
        ] {
            assert!(fit(name, heard) > fit(other, heard), "{name} {heard}");
            assert!(fit(name, name) > fit(name, heard), "{name} {heard}");
        }
        assert!(as_name_letters(&[f32::NAN; 29]).len() == 29);
    }
}
