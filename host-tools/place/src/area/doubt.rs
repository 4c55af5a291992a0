//! What makes the area of a position less than certain.

use std::fmt;

use super::Area;

/// A reason to look at the map before the area goes into the log.
#[derive(Debug, Clone, PartialEq)]
pub enum AreaDoubt {
    /// The border with another area is closer than the border's own inexactness.
    NearBorder {
        /// The area on whose side the position lies in our data.
        here: Area,
        /// The area on the other side.
        there: Area,
        /// Distance to that border in metres.
        metres: f64,
        /// How far the border may lie from the true one, in metres.
        tolerance_m: u32,
    },
    /// Beyond the edge of the map's land, such as on a pier, a bridge or a ferry, but not more
    /// than three nautical miles; the area is the nearest one.
    OffTheEdge {
        /// The nearest area, given as the value.
        nearest: Area,
        /// Distance to it in metres.
        metres: f64,
        /// How far the border may lie from the true one, in metres.
        tolerance_m: u32,
    },
    /// In the United States, but in no county and near none: open water.
    NoCounty,
    /// In no area and near none: at sea.
    Nowhere,
    /// The map inside the program cannot be read: a damaged build.
    NoMap,
}

impl fmt::Display for AreaDoubt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NearBorder {
                here,
                there,
                metres,
                tolerance_m,
            } => write!(
                f,
                "{here} or {there}: their border is {metres:.0} m away, and our map of it is good to {tolerance_m} m"
            ),
            Self::OffTheEdge {
                nearest,
                metres,
                tolerance_m,
            } => write!(
                f,
                "off the land on our map, {metres:.0} m from {nearest}; the map is good to {tolerance_m} m"
            ),
            Self::NoCounty => write!(f, "in no county and near none: on open water"),
            Self::Nowhere => write!(f, "in no country and near none: at sea"),
            Self::NoMap => write!(
                f,
                "the map inside this program is damaged; install it again"
            ),
        }
    }
}
