//! The way that the car takes, and where on it the car is at a time.

use serde::{Deserialize, Serialize};

/// Mean radius of the earth in metres (IUGG).
const EARTH_M: f64 = 6_371_008.8;

/// The car's way.
#[derive(Debug, Clone)]
pub struct CarRoute {
    /// Corner points, in degrees; straight between them.
    pub points: Vec<TruePosition>,
    /// How far along them the drive starts, in metres.
    pub start_m: f64,
    /// Speed in metres per second.
    pub speed_mps: f64,
    /// Height in metres above the sea.
    pub height_m: f64,
}

/// A place in degrees.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TruePosition {
    /// North positive.
    pub lat: f64,
    /// East positive.
    pub lon: f64,
}

impl CarRoute {
    /// The place after `at_s` seconds: straight lines between the corners, from
    /// the start; past the last corner the car stands.
    pub fn at(&self, at_s: f64) -> TruePosition {
        let mut left_m = (self.start_m + at_s * self.speed_mps).max(0.0);
        for pair in self.points.windows(2) {
            let [from, to] = [pair[0], pair[1]];
            let length_m = between(from, to);
            if left_m < length_m {
                let part = left_m / length_m;
                return TruePosition {
                    lat: from.lat + part * (to.lat - from.lat),
                    lon: from.lon + part * (to.lon - from.lon),
                };
            }
            left_m -= length_m;
        }
        self.points
            .last()
            .copied()
            .unwrap_or(TruePosition { lat: 0.0, lon: 0.0 })
    }

    /// Speed in metres per second and course in degrees from north at a time.
    pub fn motion(&self, at_s: f64) -> (f64, f64) {
        let from = self.at(at_s);
        let to = self.at(at_s + 1.0);
        let east = (to.lon - from.lon) * from.lat.to_radians().cos();
        let course = east.atan2(to.lat - from.lat).to_degrees().rem_euclid(360.0);
        (between(from, to), course)
    }
}

fn between(a: TruePosition, b: TruePosition) -> f64 {
    distance_m((a.lat, a.lon), (b.lat, b.lon))
}

/// Distance on the ground in metres between two pairs of latitude and longitude
/// in degrees, by the haversine formula.
pub(crate) fn distance_m(a: (f64, f64), b: (f64, f64)) -> f64 {
    let half = |degrees: f64| (degrees.to_radians() / 2.0).sin().powi(2);
    let h = half(b.0 - a.0) + a.0.to_radians().cos() * b.0.to_radians().cos() * half(b.1 - a.1);
    2.0 * EARTH_M * h.sqrt().asin()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn road() -> CarRoute {
        let points = [(0.0, 0.0), (0.0, 1.0), (1.0, 1.0)];
        CarRoute {
            points: points.map(|(lat, lon)| TruePosition { lat, lon }).to_vec(),
            start_m: 0.0,
            speed_mps: 100.0,
            height_m: 0.0,
        }
    }

    #[track_caller]
    fn check(at_s: f64, lat: f64, lon: f64, course: f64) {
        let place = road().at(at_s);
        assert!(
            (place.lat - lat).abs() < 1e-3 && (place.lon - lon).abs() < 1e-3,
            "{place:?}"
        );
        assert!(
            (road().motion(at_s).1 - course).abs() < 0.1,
            "{:?}",
            road().motion(at_s)
        );
    }

    #[test]
    fn the_car_follows_the_corners_at_its_speed() {
        // One degree of a great circle is 111.195 km.
        check(0.0, 0.0, 0.0, 90.0);
        check(555.975, 0.0, 0.5, 90.0);
        check(1_667.926, 0.5, 1.0, 0.0);
        assert_eq!(road().at(1e6), TruePosition { lat: 1.0, lon: 1.0 });
    }
}
