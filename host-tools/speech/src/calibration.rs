//! Turns the decoder's probability of a sign into how often such a sign is right.

/// Knots of the map: a probability that the decoder gives, and the share of the readings with
/// about that probability that was right; straight lines between. `hear_bench --fit` prints
/// them for every other sign of the set that `model/judge.py` makes; `model/MODEL.md` shows
/// how well they hold for the rest.
const CALIBRATION_KNOTS: [(f64, f64); 7] = [
    (0.0, 0.0),
    (0.2, 0.178),
    (0.4, 0.293),
    (0.6, 0.615),
    (0.8, 0.850),
    (0.93, 0.977),
    (1.0, 0.977),
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

#[cfg(test)]
mod tests {
    use super::*;

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
