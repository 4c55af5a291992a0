//! What stands after a stroke.

use std::fmt;

use jumpseat_core::call_sign::is_prefix;
use jumpseat_values::CallSignDoubt;

use super::allocation::is_allocated;

/// An addition after the home call (common practice).
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum CallSignAddition {
    /// /P
    Portable,
    /// /M, on land
    Mobile,
    /// /MM, on a ship
    MaritimeMobile,
    /// /AM, in the air
    AeronauticalMobile,
    /// /A, a second fixed address
    Alternative,
    /// /QRP, low power
    LowPower,
    /// A single digit: another call area of the same country
    CallArea(char),
    /// Prefix of the country where the station is
    Country(String),
    /// Anything else, kept as it was written
    Other(String),
}

impl CallSignAddition {
    /// Reads what follows a stroke, with what makes its meaning uncertain.
    pub(super) fn read(part: &str) -> (Self, Option<CallSignDoubt>) {
        let two = |meanings: &str| {
            Some(CallSignDoubt::TwoMeanings {
                addition: part.to_owned(),
                meanings: meanings.to_owned(),
            })
        };
        match part {
            "P" => (Self::Portable, None),
            "M" => (Self::Mobile, None),
            "MM" => (Self::MaritimeMobile, None),
            "AM" => (Self::AeronauticalMobile, None),
            "A" => (Self::Alternative, None),
            "QRP" => (Self::LowPower, None),
            "R" => (Self::Other(part.to_owned()), two("a rover or Russia")),
            "B" => (Self::Other(part.to_owned()), two("a beacon or China")),
            _ => match part.as_bytes() {
                [digit @ b'0'..=b'9'] => (Self::CallArea(char::from(*digit)), None),
                bytes if is_prefix(bytes) && is_allocated(bytes) => {
                    (Self::Country(part.to_owned()), None)
                }
                _ => (
                    Self::Other(part.to_owned()),
                    Some(CallSignDoubt::UnknownAddition {
                        addition: part.to_owned(),
                    }),
                ),
            },
        }
    }
}

/// As written after the stroke, the stroke not included.
impl fmt::Display for CallSignAddition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Portable => f.write_str("P"),
            Self::Mobile => f.write_str("M"),
            Self::MaritimeMobile => f.write_str("MM"),
            Self::AeronauticalMobile => f.write_str("AM"),
            Self::Alternative => f.write_str("A"),
            Self::LowPower => f.write_str("QRP"),
            Self::CallArea(digit) => write!(f, "{digit}"),
            Self::Country(text) | Self::Other(text) => f.write_str(text),
        }
    }
}
