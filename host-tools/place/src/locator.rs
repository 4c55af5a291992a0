//! The grid locator (Maidenhead system).
//!
//! A locator names a cell of the globe by pairs of characters, longitude first:
//! field (letters A to R, 20° by 10°), square (digits, 2° by 1°), subsquare
//! (letters A to X, 5' by 2.5'), extended square (digits, 30" by 15") and a fifth
//! pair (letters A to X, 1.25" by 0.625").
//!
//! Source: IARU Region 1 VHF Managers' Handbook, "Locator" (the first three pairs;
//! the fourth by the same rule), from memory. The fifth pair is common practice:
//! letters again, 24 to a side.

use std::fmt;

/// Most pairs that are read or written.
pub const MOST_LOCATOR_PAIRS: usize = 5;

/// How many cells lie side by side in one cell of the pair before.
const PAIR_DIVISIONS: [u32; MOST_LOCATOR_PAIRS] = [18, 10, 24, 10, 24];

/// A cell of the globe, degrees, north and east positive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LocatorCell {
    /// Southern edge, -90 to 90.
    pub south: f64,
    /// Western edge, -180 to 180.
    pub west: f64,
    /// Height in degrees of latitude.
    pub height: f64,
    /// Width in degrees of longitude.
    pub width: f64,
}

impl LocatorCell {
    /// Latitude and longitude of the middle.
    pub fn centre(&self) -> (f64, f64) {
        (self.south + self.height / 2.0, self.west + self.width / 2.0)
    }

    /// Northern edge.
    pub fn north(&self) -> f64 {
        self.south + self.height
    }

    /// Eastern edge, up to 180.
    pub fn east(&self) -> f64 {
        self.west + self.width
    }

    /// Whether a point lies in the cell; its southern and western edge belong to it.
    pub fn contains(&self, lat: f64, lon: f64) -> bool {
        (self.south..self.north()).contains(&lat) && (self.west..self.east()).contains(&lon)
    }
}

/// Whether a text is a locator of two to twelve characters. The sixth pair, two digits,
/// is written by some programs and is not read here.
pub fn is_locator(text: &str) -> bool {
    let (first, sixth) = text
        .split_at_checked(MOST_LOCATOR_PAIRS * 2)
        .unwrap_or((text, ""));
    let digits = sixth.bytes().all(|byte| byte.is_ascii_digit());
    decode(first).is_ok() && matches!(sixth.len(), 0 | 2) && digits
}

/// A locator as it is usually written: the field in capitals, later letters small
/// (common practice).
pub fn usual_case(locator: &str) -> String {
    let (field, rest) = locator.split_at_checked(2).unwrap_or((locator, ""));
    field.to_ascii_uppercase() + &rest.to_ascii_lowercase()
}

/// Why a text or a position has no locator.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LocatorError {
    /// The length is not that of a locator.
    #[error("a locator has 2, 4, 6, 8 or 10 characters, this has {0}")]
    Length(usize),
    /// A character that cannot stand where it does.
    #[error("'{found}' cannot be character {place} of a locator: {allowed} stand there")]
    Character {
        /// What was found.
        found: char,
        /// Where, from 1.
        place: usize,
        /// What may stand there, such as "letters A to R".
        allowed: AllowedCharacters,
    },
    /// Not on the globe.
    #[error("latitude {lat}, longitude {lon} is not on the globe")]
    Position {
        /// As given.
        lat: f64,
        /// As given.
        lon: f64,
    },
    /// Other than 1 to 5 pairs asked for.
    #[error("a locator has 1 to 5 pairs of characters, not {0}")]
    Pairs(usize),
}

/// The characters of one pair.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AllowedCharacters {
    /// A to R.
    Fields,
    /// 0 to 9.
    Digits,
    /// A to X.
    Letters,
}

impl fmt::Display for AllowedCharacters {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Fields => "letters A to R",
            Self::Digits => "digits",
            Self::Letters => "letters A to X",
        })
    }
}

/// The locator of a position with 1 to 5 pairs of characters.
///
/// Field letters are upper case, later ones lower case, as in "DN81ab" (common
/// practice). The north pole belongs to the cell south of it; longitude 180 is
/// longitude -180.
pub fn encode(lat: f64, lon: f64, pairs: usize) -> Result<String, LocatorError> {
    if !(1..=MOST_LOCATOR_PAIRS).contains(&pairs) {
        return Err(LocatorError::Pairs(pairs));
    }
    let on_globe = lat.is_finite() && lon.is_finite() && lat.abs() <= 90.0 && lon.abs() <= 180.0;
    if !on_globe {
        return Err(LocatorError::Position { lat, lon });
    }
    let lon = if lon == 180.0 { -180.0 } else { lon };
    let across = count(lon + 180.0, 360.0);
    let up = count(lat + 90.0, 180.0);
    let mut text = String::with_capacity(pairs * 2);
    let mut left = FINEST_CELLS;
    for (pair, division) in PAIR_DIVISIONS.iter().enumerate().take(pairs) {
        let cells = left / division;
        for units in [across, up] {
            let step = units % left / cells;
            text.push(character(pair, step));
        }
        left = cells;
    }
    Ok(text)
}

/// Cells of the finest pair along one side of the globe.
const FINEST_CELLS: u32 = 18 * 10 * 24 * 10 * 24;

/// Which of the finest cells a coordinate of 0 to `whole` lies in. The last one
/// takes the end of the scale.
fn count(value: f64, whole: f64) -> u32 {
    // Not negative and below 2^21, so nothing is lost.
    let cell = (value * f64::from(FINEST_CELLS) / whole).floor() as u32;
    cell.min(FINEST_CELLS - 1)
}

fn character(pair: usize, step: u32) -> char {
    let first = match pair {
        0 => b'A',
        1 | 3 => b'0',
        _ => b'a',
    };
    // A step is below 24.
    char::from(first + step as u8)
}

/// The cell that a locator of 2, 4, 6, 8 or 10 characters names. Letters may be of
/// either case.
pub fn decode(locator: &str) -> Result<LocatorCell, LocatorError> {
    let characters: Vec<char> = locator.chars().collect();
    let length = characters.len();
    if length == 0 || !length.is_multiple_of(2) || length > MOST_LOCATOR_PAIRS * 2 {
        return Err(LocatorError::Length(length));
    }
    let mut cell = LocatorCell {
        south: -90.0,
        west: -180.0,
        height: 180.0,
        width: 360.0,
    };
    let (mut across, mut up, mut cells) = (0, 0, 1);
    for (index, pair) in characters.chunks_exact(2).enumerate() {
        cells *= PAIR_DIVISIONS[index];
        across = across * PAIR_DIVISIONS[index] + step(index, 0, pair[0])?;
        up = up * PAIR_DIVISIONS[index] + step(index, 1, pair[1])?;
    }
    cell.width /= f64::from(cells);
    cell.height /= f64::from(cells);
    cell.west += 360.0 * f64::from(across) / f64::from(cells);
    cell.south += 180.0 * f64::from(up) / f64::from(cells);
    Ok(cell)
}

fn step(pair: usize, second: usize, found: char) -> Result<u32, LocatorError> {
    let (allowed, first, steps) = match pair {
        0 => (AllowedCharacters::Fields, 'A', 18),
        1 | 3 => (AllowedCharacters::Digits, '0', 10),
        _ => (AllowedCharacters::Letters, 'A', 24),
    };
    let value = u32::from(found.to_ascii_uppercase()).checked_sub(u32::from(first));
    value
        .filter(|value| *value < steps)
        .ok_or(LocatorError::Character {
            found,
            place: pair * 2 + second + 1,
            allowed,
        })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[track_caller]
    fn check(lat: f64, lon: f64, expected: &str) {
        assert_eq!(
            encode(lat, lon, expected.len() / 2).as_deref(),
            Ok(expected)
        );
        let cell = decode(expected).unwrap();
        assert!(
            cell.contains(lat, lon) || lat == 90.0 || lon == 180.0,
            "{cell:?}"
        );
    }

    #[test]
    fn published_places_have_their_published_locators() {
        // Examples that circulate with the handbooks and reference libraries, from memory.
        check(48.146_66, 11.608_33, "JN58td"); // Munich
        check(-34.91, -56.211_66, "GF15vc"); // Montevideo
        check(38.92, -77.065, "FM18lw"); // Washington, D.C.
        check(-41.283_33, 174.745, "RE78ir"); // Wellington
        check(41.714_775, -72.727_26, "FN31pr"); // Newington, Connecticut
        check(37.413_708, -122.107_323_6, "CM87wj"); // Palo Alto
    }

    #[test]
    fn edges_of_the_globe_and_of_cells_belong_to_one_cell() {
        check(0.0, 0.0, "JJ00aa00aa");
        check(-90.0, -180.0, "AA00aa00aa");
        check(89.999_999, 179.999_999, "RR99xx99xx");
        check(90.0, 0.0, "JR09ax09ax");
        check(0.0, 180.0, "AJ00aa00aa");
        check(50.0, 10.0, "JO50aa");
        check(49.999_999, 9.999_999, "JN49xx");
        check(-0.000_001, -0.000_001, "II99xx99xx");
    }

    #[test]
    fn cells_have_the_sizes_of_the_handbook() {
        for (locator, minutes_up, minutes_across) in [
            ("JO", 600.0, 1200.0),
            ("JO65", 60.0, 120.0),
            ("JO65ha", 2.5, 5.0),
            ("JO65ha12", 0.25, 0.5),
            ("JO65ha12cd", 0.25 / 24.0, 0.5 / 24.0),
        ] {
            let cell = decode(locator).unwrap();
            assert!((cell.height * 60.0 - minutes_up).abs() < 1e-9, "{locator}");
            assert!(
                (cell.width * 60.0 - minutes_across).abs() < 1e-9,
                "{locator}"
            );
        }
        let cell = decode("JO65").unwrap();
        assert_eq!((cell.south, cell.west), (55.0, 12.0));
        assert_eq!((cell.north(), cell.east()), (56.0, 14.0));
        assert_eq!(cell.centre(), (55.5, 13.0));
    }

    #[test]
    fn either_case_is_read_and_the_usual_one_is_written() {
        assert_eq!(decode("jn58TD"), decode("JN58td"));
        assert_eq!(
            encode(48.146_66, 11.608_33, 5).unwrap()[..6],
            *"JN58td",
            "upper, digits, lower"
        );
    }

    #[track_caller]
    fn refused(text: &str, expected: &str) {
        assert_eq!(decode(text).unwrap_err().to_string(), expected);
    }

    #[test]
    fn what_is_no_locator_is_refused_with_the_reason() {
        for (text, length) in [("", 0), ("J", 1), ("JN5", 3), ("JN58td25aa11", 12)] {
            refused(
                text,
                &format!("a locator has 2, 4, 6, 8 or 10 characters, this has {length}"),
            );
        }
        refused(
            "SN58td",
            "'S' cannot be character 1 of a locator: letters A to R stand there",
        );
        refused(
            "JNa8td",
            "'a' cannot be character 3 of a locator: digits stand there",
        );
        refused(
            "JN58ty",
            "'y' cannot be character 6 of a locator: letters A to X stand there",
        );
        refused(
            "JN58tdx5",
            "'x' cannot be character 7 of a locator: digits stand there",
        );
        refused(
            "JÄ58",
            "'Ä' cannot be character 2 of a locator: letters A to R stand there",
        );
    }

    #[test]
    fn what_is_no_position_is_refused() {
        for (lat, lon) in [
            (90.1, 0.0),
            (0.0, -180.1),
            (f64::NAN, 0.0),
            (0.0, f64::INFINITY),
        ] {
            assert!(
                matches!(encode(lat, lon, 3), Err(LocatorError::Position { .. })),
                "{lat} {lon}"
            );
        }
        for pairs in [0, 6, usize::MAX] {
            assert_eq!(encode(0.0, 0.0, pairs), Err(LocatorError::Pairs(pairs)));
        }
    }

    proptest! {
        #[test]
        fn a_position_lies_in_the_cell_of_its_locator(
            lat in -90.0..=90.0_f64, lon in -180.0..180.0_f64, pairs in 1..=MOST_LOCATOR_PAIRS
        ) {
            let locator = encode(lat, lon, pairs).unwrap();
            prop_assert_eq!(locator.len(), pairs * 2);
            let cell = decode(&locator).unwrap();
            let inside = |value: f64, from: f64, size: f64| {
                (from - 1e-9..=from + size + 1e-9).contains(&value)
            };
            prop_assert!(inside(lat, cell.south, cell.height), "{} {:?}", locator, cell);
            prop_assert!(inside(lon, cell.west, cell.width), "{} {:?}", locator, cell);
        }

        #[test]
        fn the_middle_of_a_cell_has_the_cells_locator(
            text in "[A-R]{2}([0-9]{2}([a-x]{2}([0-9]{2}([a-x]{2})?)?)?)?"
        ) {
            let (lat, lon) = decode(&text).unwrap().centre();
            prop_assert_eq!(encode(lat, lon, text.len() / 2), Ok(text));
        }

        #[test]
        fn a_longer_locator_begins_with_the_shorter(
            lat in -90.0..=90.0_f64, lon in -180.0..=180.0_f64, pairs in 1..MOST_LOCATOR_PAIRS
        ) {
            let long = encode(lat, lon, pairs + 1).unwrap();
            prop_assert!(long.starts_with(&encode(lat, lon, pairs).unwrap()));
        }

        #[test]
        fn any_text_is_read_or_refused(text in ".{0,12}") {
            if let Ok(cell) = decode(&text) {
                prop_assert!(cell.south >= -90.0 && cell.north() <= 90.0 + 1e-9);
                prop_assert!(cell.west >= -180.0 && cell.east() <= 180.0 + 1e-9);
            }
        }
    }
}
