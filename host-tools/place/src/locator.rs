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
pub const MOST_PAIRS: usize = 5;

/// How many cells lie side by side in one cell of the pair before.
const DIVISIONS: [u32; MOST_PAIRS] = [18, 10, 24, 10, 24];

/// A cell of the globe, degrees, north and east positive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    /// Southern edge, -90 to 90.
    pub south: f64,
    /// Western edge, -180 to 180.
    pub west: f64,
    /// Height in degrees of latitude.
    pub height: f64,
    /// Width in degrees of longitude.
    pub width: f64,
}

impl Cell {
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
        allowed: Allowed,
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
pub enum Allowed {
    /// A to R.
    Fields,
    /// 0 to 9.
    Digits,
    /// A to X.
    Letters,
}

impl fmt::Display for Allowed {
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
    if !(1..=MOST_PAIRS).contains(&pairs) {
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
    let mut left = FINEST;
    for (pair, division) in DIVISIONS.iter().enumerate().take(pairs) {
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
const FINEST: u32 = 18 * 10 * 24 * 10 * 24;

/// Which of the finest cells a coordinate of 0 to `whole` lies in. The last one
/// takes the end of the scale.
fn count(value: f64, whole: f64) -> u32 {
    // Not negative and below 2^21, so nothing is lost.
    let cell = (value * f64::from(FINEST) / whole).floor() as u32;
    cell.min(FINEST - 1)
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
pub fn decode(locator: &str) -> Result<Cell, LocatorError> {
    let characters: Vec<char> = locator.chars().collect();
    let length = characters.len();
    if length == 0 || !length.is_multiple_of(2) || length > MOST_PAIRS * 2 {
        return Err(LocatorError::Length(length));
    }
    let mut cell = Cell {
        south: -90.0,
        west: -180.0,
        height: 180.0,
        width: 360.0,
    };
    let (mut across, mut up, mut cells) = (0, 0, 1);
    for (index, pair) in characters.chunks_exact(2).enumerate() {
        cells *= DIVISIONS[index];
        across = across * DIVISIONS[index] + step(index, 0, pair[0])?;
        up = up * DIVISIONS[index] + step(index, 1, pair[1])?;
    }
    cell.width /= f64::from(cells);
    cell.height /= f64::from(cells);
    cell.west += 360.0 * f64::from(across) / f64::from(cells);
    cell.south += 180.0 * f64::from(up) / f64::from(cells);
    Ok(cell)
}

fn step(pair: usize, second: usize, found: char) -> Result<u32, LocatorError> {
    let (allowed, first, steps) = match pair {
        0 => (Allowed::Fields, 'A', 18),
        1 | 3 => (Allowed::Digits, '0', 10),
        _ => (Allowed::Letters, 'A', 24),
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
