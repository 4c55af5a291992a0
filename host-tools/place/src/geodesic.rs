//! Distance and bearing between two positions.
//!
//! `between` follows the shortest way on the WGS 84 ellipsoid (C. F. F. Karney, "Algorithms
//! for geodesics", Journal of Geodesy 87, 2013, through geographiclib-rs); it is the one to
//! log and to show. `great_circle` is the handbook formula on a sphere, up to 0.6 % off, for
//! many rough comparisons in a row.

use std::sync::LazyLock;

use geographiclib_rs::{DirectGeodesic, Geodesic, InverseGeodesic};

use crate::locator::{self, LocatorError};
use jumpseat_values::Position;

/// Mean radius of the earth in metres, (2a + b) / 3 of WGS 84.
const MEAN_RADIUS_M: f64 = 6_371_008.771_4;

static WGS84: LazyLock<Geodesic> = LazyLock::new(Geodesic::wgs84);

/// The way from one position to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GeodesicLeg {
    /// Length in metres, 0 to about 20,003,932.
    pub metres: f64,
    /// Direction to set out in, degrees clockwise from true north, 0 up to but not
    /// including 360. For two equal positions, 0; it has no meaning there.
    pub bearing: f64,
    /// Direction in which the other station sees this one, same unit and range.
    pub back_bearing: f64,
}

/// The shortest way on the WGS 84 ellipsoid; exact to some nanometres (Karney 2013).
pub fn between(from: Position, to: Position) -> GeodesicLeg {
    let (metres, out, arrival, _arc): (f64, f64, f64, f64) =
        WGS84.inverse(from.lat(), from.lon(), to.lat(), to.lon());
    if metres == 0.0 {
        return GeodesicLeg {
            metres,
            bearing: 0.0,
            back_bearing: 0.0,
        };
    }
    GeodesicLeg {
        metres,
        bearing: compass(out),
        back_bearing: compass(arrival + 180.0),
    }
}

/// The way between the middles of two locators' cells. It is no better than the cells are
/// small: half a subsquare is about 2 km up and, half way to the pole, 2 km across.
///
/// # Errors
/// [`LocatorError`] when a text is no locator.
pub fn between_locators(from: &str, to: &str) -> Result<GeodesicLeg, LocatorError> {
    let middle = |text| locator::decode(text).map(|cell| cell.centre());
    let ((lat1, lon1), (lat2, lon2)) = (middle(from)?, middle(to)?);
    let position = |lat, lon| Position::new(lat, lon).ok_or(LocatorError::Position { lat, lon });
    Ok(between(position(lat1, lon1)?, position(lat2, lon2)?))
}

/// Where one arrives after `metres` from `from`, setting out at `bearing` (degrees clockwise
/// from true north). `None` when a number is not finite.
pub fn destination(from: Position, bearing: f64, metres: f64) -> Option<Position> {
    if !bearing.is_finite() || !metres.is_finite() {
        return None;
    }
    let (lat, lon): (f64, f64) = WGS84.direct(from.lat(), from.lon(), bearing, metres);
    Position::new(lat, lon)
}

/// Distance in metres on a sphere of the earth's mean radius (haversine formula).
pub fn great_circle(from: Position, to: Position) -> f64 {
    let (lat1, lat2) = (from.lat().to_radians(), to.lat().to_radians());
    let half_lat = ((lat2 - lat1) / 2.0).sin();
    let half_lon = ((to.lon() - from.lon()).to_radians() / 2.0).sin();
    let h = half_lat * half_lat + lat1.cos() * lat2.cos() * half_lon * half_lon;
    2.0 * MEAN_RADIUS_M * h.clamp(0.0, 1.0).sqrt().asin()
}

/// Brings degrees into 0 (included) to 360 (excluded).
fn compass(degrees: f64) -> f64 {
    let turned = degrees.rem_euclid(360.0);
    if turned >= 360.0 { 0.0 } else { turned + 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn at(lat: f64, lon: f64) -> Position {
        Position::new(lat, lon).unwrap()
    }

    #[track_caller]
    fn check(from: (f64, f64), to: (f64, f64), metres: f64, bearing: f64) {
        let leg = between(at(from.0, from.1), at(to.0, to.1));
        assert!((leg.metres - metres).abs() < 0.01, "{leg:?}");
        assert!((leg.bearing - bearing).abs() < 0.001, "{leg:?}");
    }

    /// A degree along the equator is 2 pi a / 360; the quarter meridian is 10,001,965.729 m
    /// (WGS 84); the last is the worked example of the GeographicLib documentation.
    #[test]
    fn known_legs() {
        check((0.0, 0.0), (0.0, 1.0), 111_319.490_8, 90.0);
        check((0.0, 0.0), (90.0, 0.0), 10_001_965.729_3, 0.0);
        check((0.0, 10.0), (0.0, 10.0), 0.0, 0.0);
        check(
            (-41.32, 174.81),
            (40.96, -5.50),
            19_959_679.267_4,
            161.067_669_9,
        );
    }

    /// Munich to Hartford; the middles are 48.1458 N 11.625 E and 41.7292 N 72.7083 W.
    #[test]
    fn from_locator_to_locator() {
        let leg = between_locators("JN58td", "FN31pr").unwrap();
        let middles = between(
            at(48.0 + 3.5 / 24.0, 11.625),
            at(41.0 + 17.5 / 24.0, -72.0 - 8.5 / 12.0),
        );
        assert!((leg.metres - middles.metres).abs() < 0.01, "{leg:?}");
        assert!(between_locators("JN58td", "nowhere").is_err());
    }

    fn position() -> impl Strategy<Value = Position> {
        (-90.0..=90.0, -180.0..=180.0).prop_map(|(lat, lon)| at(lat, lon))
    }

    proptest! {
        #[test]
        fn going_there_arrives_there(from in position(), to in position()) {
            let leg = between(from, to);
            prop_assert!((0.0..360.0).contains(&leg.bearing) && (0.0..360.0).contains(&leg.back_bearing));
            let arrived = destination(from, leg.bearing, leg.metres).unwrap();
            prop_assert!(between(arrived, to).metres < 0.001);
        }

        #[test]
        fn the_way_back_is_as_long(a in position(), b in position()) {
            prop_assert!((between(a, b).metres - between(b, a).metres).abs() < 1e-6);
        }

        #[test]
        fn the_sphere_is_within_its_promise(a in position(), b in position()) {
            let exact = between(a, b).metres;
            prop_assert!((great_circle(a, b) - exact).abs() <= 0.006 * exact + 1e-6);
        }
    }
}
