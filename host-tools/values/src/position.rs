//! A point on the earth.

use serde::Serialize;

/// A point in degrees on the WGS 84 ellipsoid, as a satellite receiver reports it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Position {
    lat: f64,
    lon: f64,
}

impl Position {
    /// Takes latitude -90 to 90 (north positive) and longitude -180 to 180 (east positive),
    /// both in degrees. `None` for anything else, not-a-number included.
    pub fn new(lat: f64, lon: f64) -> Option<Self> {
        ((-90.0..=90.0).contains(&lat) && (-180.0..=180.0).contains(&lon))
            .then_some(Self { lat, lon })
    }

    /// Latitude in degrees, -90 to 90, north positive.
    pub fn lat(self) -> f64 {
        self.lat
    }

    /// Longitude in degrees, -180 to 180, east positive.
    pub fn lon(self) -> f64 {
        self.lon
    }
}

#[cfg(test)]
mod tests {
    use super::Position;

    #[test]
    fn takes_what_is_on_the_earth_and_nothing_else() {
        for (lat, lon) in [(0.0, 0.0), (90.0, 180.0), (-90.0, -180.0), (47.6, -122.3)] {
            assert!(Position::new(lat, lon).is_some(), "{lat} {lon}");
        }
        for (lat, lon) in [
            (90.1, 0.0),
            (0.0, 180.1),
            (f64::NAN, 0.0),
            (0.0, f64::INFINITY),
        ] {
            assert!(Position::new(lat, lon).is_none(), "{lat} {lon}");
        }
    }
}
