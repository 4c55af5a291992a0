//! The own place in the fields of a draft.

use jumpseat_place::locator;
use jumpseat_trip::PlaceEstimate;
use jumpseat_values::{Doubt, Estimate};

/// Within this the subsquare (about 5 by 7 km) is right more often than not.
const SUBSQUARE_M: f64 = 2_500.0;

/// Latitude, longitude and locator; four characters of it where more would be
/// guessed.
pub(super) fn fields(at: &PlaceEstimate) -> (Estimate<f64>, Estimate<f64>, Estimate<String>) {
    let coarse = at.uncertainty_m.is_some_and(|metres| metres > SUBSQUARE_M);
    let pairs = if coarse { 2 } else { 3 };
    let name = at
        .value
        .and_then(|at| locator::encode(at.lat, at.lon, pairs).ok());
    let doubts = || at.doubts.iter().map(|text| Doubt::read(text)).collect();
    let degrees = |degrees: f64| (degrees * 1e6).round() / 1e6;
    (
        Estimate::new(at.value.map(|at| degrees(at.lat)), doubts()),
        Estimate::new(at.value.map(|at| degrees(at.lon)), doubts()),
        Estimate::new(name, doubts()),
    )
}
