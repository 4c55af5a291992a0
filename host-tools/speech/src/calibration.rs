//! Turns the decoders' figures into how often such a sign, or such a word, is right.

/// Knots of the map: a probability that the decoder gives, and the share of the readings with
/// about that probability that was right; straight lines between. `hear_bench --fit` prints
/// them for every other sign of the set that `model/judge.py` makes; `model/MODEL.md` shows
/// how well they hold for the rest.
const CALIBRATION_KNOTS: [(f64, f64); 7] = [
    (0.0, 0.0),
    (0.2, 0.157),
    (0.4, 0.427),
    (0.6, 0.773),
    (0.8, 0.900),
    (0.93, 0.990),
    (1.0, 0.990),
];

/// How often a reading is right to which the decoder gives the probability `p`, both 0 to 1;
/// never falls as `p` rises.
pub(crate) fn calibrated(p: f64) -> f64 {
    let next = CALIBRATION_KNOTS.iter().position(|(given, _)| *given > p);
    match next.and_then(|k| {
        Some((
            CALIBRATION_KNOTS.get(k.checked_sub(1)?)?,
            CALIBRATION_KNOTS.get(k)?,
        ))
    }) {
        Some(((x, y), (above, top))) => y + (top - y) * (p - x) / (above - x),
        None if p <= 0.0 => 0.0,
        None => CALIBRATION_KNOTS[CALIBRATION_KNOTS.len() - 1].1,
    }
}

/// Of a word of the transcript: log-odds that it is right when both figures are 0, and how much
/// each figure adds to them. Fitted to people whom the model has not heard: `model/written.py`
/// prints them from what `examples/transcripts.rs` writes.
const WORD_LOG_ODDS: f64 = 1.60;
const WORD_DECODER_WEIGHT: f64 = 1.89;
const WORD_LETTERS_WEIGHT: f64 = 0.01;

/// How often a word is right whose figures are `decoder` and `letters`
/// (`transcript::SpokenWord`), 0 to 1; never falls as one of them rises.
pub(crate) fn word_probability(decoder: f64, letters: f64) -> f64 {
    let log_odds = WORD_LOG_ODDS + WORD_DECODER_WEIGHT * decoder + WORD_LETTERS_WEIGHT * letters;
    1.0 / (1.0 + (-log_odds).exp())
}

/// Of a first name where one follows: what the log-probabilities by the letters and by the text
/// decoder count, and what each class costs by which it is rarer. Beside the names stands that it
/// is none of them. Fitted to voices that are not judged: `model/named.py fit` prints them from
/// what `examples/names.rs` writes.
pub(crate) const NAME_LETTERS_WEIGHT: f64 = 0.317;
pub(crate) const NAME_DECODER_WEIGHT: f64 = 0.320;
pub(crate) const NAME_CLASS_WEIGHT: f64 = 0.144;
pub(crate) const NONE_OF_THE_NAMES: f64 = -2.280;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_is_the_less_probable_the_lower_its_figures() {
        let figures = [0.0, -0.1, -1.0, -5.0, -20.0];
        for pair in figures.windows(2) {
            for other in figures {
                assert!(word_probability(pair[0], other) > word_probability(pair[1], other));
                assert!(word_probability(other, pair[0]) > word_probability(other, pair[1]));
            }
        }
        assert!((0.0..=1.0).contains(&word_probability(-20.0, -20.0)));
    }

    #[test]
    fn it_never_falls_and_stays_a_probability() {
        let values: Vec<f64> = (-1..=101)
            .map(|k| calibrated(f64::from(k) / 100.0))
            .collect();
        assert!(values.windows(2).all(|w| w[0] <= w[1]), "{values:?}");
        assert!(values.iter().all(|p| (0.0..=1.0).contains(p)));
        assert_eq!(calibrated(0.0), 0.0);
        assert!(calibrated(f64::NAN) <= 1.0);
    }
}
