//! Doubts about the own place.

use crate::Rounded;

doubts! {
    /// Why a place may be wrong, or is not known.
    pub enum PlaceDoubt {
        /// The trip has no position fix.
        NoFix => "there is no position fix in this trip",
        /// The trip has only position fixes that the receiver did not call valid.
        NoValidFix {
            /// How many.
            invalid: usize,
        } => "there is no position fix in this trip ({invalid} that were not valid)",
        /// It lies before the first fix.
        BeforeFirstFix {
            /// How long before, seconds.
            away_s: u64,
        } => "the place is that of the first fix, {away_s} s later",
        /// It lies after the last fix.
        AfterLastFix {
            /// How long after, seconds.
            away_s: u64,
        } => "the place is that of the last fix, {away_s} s before",
        /// The fixes around it are far apart in time.
        BetweenFixes {
            /// The time between them, seconds.
            gap_s: u64,
            /// The distance between them, kilometres.
            apart_km: Rounded<1>,
        } => "no position fix for {gap_s} s: the place is between two fixes {apart_km} km apart",
    }
}
