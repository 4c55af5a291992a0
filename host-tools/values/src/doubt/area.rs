//! Doubts about the county or country of a place.

use crate::Rounded;

doubts! {
    /// A reason to look at the map before the area goes into the log.
    pub enum AreaDoubt {
        /// The border with another area is closer than the border's own inexactness.
        NearBorder {
            /// The area on whose side the position lies in our data.
            here: String,
            /// The area on the other side.
            there: String,
            /// Distance to that border, metres.
            metres: Rounded<0>,
            /// How far the border may lie from the true one, metres.
            tolerance_m: u32,
        } => "{here} or {there}: their border is {metres} m away, and our map of it is good to {tolerance_m} m",
        /// Beyond the edge of the map's land, such as on a pier, a bridge or a ferry, but
        /// not more than three nautical miles; the area is the nearest one.
        OffTheEdge {
            /// The nearest area.
            nearest: String,
            /// Distance to it, metres.
            metres: Rounded<0>,
            /// How far the border may lie from the true one, metres.
            tolerance_m: u32,
        } => "off the land on our map, {metres} m from {nearest}; the map is good to {tolerance_m} m",
        /// In the United States, but in no county and near none: open water.
        NoCounty => "in no county and near none: on open water",
        /// In no area and near none: at sea.
        Nowhere => "in no country and near none: at sea",
        /// The map inside the program cannot be read: a damaged build.
        NoMap => "the map inside this program is damaged; install it again",
        /// The contact crossed a border.
        Crossed {
            /// Where it began.
            from: String,
            /// Where it ended.
            to: String,
        } => "the contact began in {from} and ended in {to}: two entries may be owed",
    }
}
