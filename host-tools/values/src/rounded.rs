//! Numbers as precise as the sentence that names them.

use std::fmt;
use std::str::FromStr;

/// A number with a fixed count of decimal places. It is rounded when it is made, so that
/// what is written reads back as the same number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rounded<const PLACES: usize>(f64);

impl<const PLACES: usize> Rounded<PLACES> {
    /// Rounds a number.
    pub fn new(value: f64) -> Self {
        // What was just formatted is a number.
        Self(format!("{value:.PLACES$}").parse().unwrap_or(value))
    }

    /// The rounded number.
    pub const fn value(self) -> f64 {
        self.0
    }
}

impl<const PLACES: usize> fmt::Display for Rounded<PLACES> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.PLACES$}", self.0)
    }
}

/// A text is not a number of that many places.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NotRounded;

impl<const PLACES: usize> FromStr for Rounded<PLACES> {
    type Err = NotRounded;

    fn from_str(text: &str) -> Result<Self, NotRounded> {
        let value = Self(text.parse().map_err(|_| NotRounded)?);
        if value.to_string() == text {
            Ok(value)
        } else {
            Err(NotRounded)
        }
    }
}
