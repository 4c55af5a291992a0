//! The locator that the truth holds. Written here once more, from the published
//! description, so that the code under test is not its own judge; the outside
//! checks compare it with a reference library as well.

use crate::scenario::TruePosition;

/// The six-character locator of a place: "DN51dm".
///
/// Fields of 20° by 10°, squares of 2° by 1°, subsquares of 5' by 2.5', counted
/// from 180° west and the south pole (IARU Region 1 VHF Managers Handbook).
pub fn locator(place: TruePosition) -> String {
    // In units of a subsquare: 24 across a square, 240 across a field.
    let count = |degrees: f64, subsquare_minutes: f64, limit: u32| {
        let units = (degrees * 60.0 / subsquare_minutes).floor();
        (units.max(0.0) as u32).min(limit - 1)
    };
    let east = count(place.lon + 180.0, 5.0, 18 * 240);
    let north = count(place.lat + 90.0, 2.5, 18 * 240);
    let letter = |base: u8, index: u32| char::from(base + index as u8);
    [
        letter(b'A', east / 240),
        letter(b'A', north / 240),
        letter(b'0', east / 24 % 10),
        letter(b'0', north / 24 % 10),
        letter(b'a', east % 24),
        letter(b'a', north % 24),
    ]
    .iter()
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(lat: f64, lon: f64, expected: &str) {
        assert_eq!(locator(TruePosition { lat, lon }), expected);
    }

    #[test]
    fn published_examples() {
        // Tyson's article in QST, January 1989: the Munich example and W1AW.
        check(48.146_66, 11.608_33, "JN58td");
        check(41.714_775, -72.727_260, "FN31pr");
        // The corners of the world.
        check(-90.0, -180.0, "AA00aa");
        check(90.0, 180.0, "RR99xx");
    }
}
