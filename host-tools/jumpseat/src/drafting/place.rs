//! The own place in the fields of a draft.

use jumpseat_entries::Field;
use jumpseat_place::locator;
use jumpseat_trip::PlaceEstimate;

/// Within this the subsquare (about 5 by 7 km) is right more often than not.
const SUBSQUARE_M: f64 = 2_500.0;

/// Latitude, longitude and locator; four characters of it where more would be
/// guessed.
pub(super) fn fields(at: &PlaceEstimate) -> (Field<f64>, Field<f64>, Field<String>) {
    let coarse = at.uncertainty_m.is_some_and(|metres| metres > SUBSQUARE_M);
    let pairs = if coarse { 2 } else { 3 };
    let name = at
        .value
        .and_then(|at| locator::encode(at.lat, at.lon, pairs).ok());
    let degrees = |degrees: f64| (degrees * 1e6).round() / 1e6;
    (
        Field::new(at.value.map(|at| degrees(at.lat)), at.doubts.clone()),
        Field::new(at.value.map(|at| degrees(at.lon)), at.doubts.clone()),
        Field::new(name, at.doubts.clone()),
    )
}
