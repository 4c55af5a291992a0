//! Doubts about the UTC of an instant.

use std::fmt;
use std::str::FromStr;

use crate::Rounded;

doubts! {
    /// Why a time may be wrong, or is not known.
    pub enum TimeDoubt {
        /// No time fix can be used.
        Unknown => "time unknown, relative only",
        /// The receiver never called its own time valid.
        NeverFixed {
            /// What it thought last, RFC 3339.
            thought: String,
        } => "time unknown, relative only: the receiver never had a fix (it thought it was {thought})",
        /// Every time fix has a date that no trip can have.
        ImpossibleDates {
            /// How many there were.
            fixes: usize,
        } => "time unknown, relative only: {fixes} time fixes, all of an impossible date",
        /// Time fixes that contradict those that were believed.
        RivalFixes {
            /// How many.
            fixes: usize,
            /// How far away they are, seconds.
            apart_s: Rounded<1>,
            /// To which side.
            order: ClockOrder,
        } => "{fixes} time fixes say that it was {apart_s} s {order}; they were not believed",
        /// The receiver's week number had wrapped.
        WeekRollover => "the receiver's dates were 1024 weeks back, or a multiple, and were put right",
        /// Nothing ties the sample count to the clock.
        NoClockPair => "the journal has no clock pair: samples are put in time by guess",
        /// The time fixes near it cannot all be true.
        Contradiction {
            /// By how much, seconds.
            apart_s: Rounded<3>,
        } => "the time fixes around it contradict each other by {apart_s} s",
        /// The nearest time fix is far away.
        FarFromFix {
            /// The truth lies within this on either side, seconds.
            within_s: Rounded<1>,
            /// To the nearest fix, seconds.
            away_s: Rounded<0>,
        } => "UTC is only known to ±{within_s} s: the nearest time fix is {away_s} s away",
    }
}

/// Whether a clock is ahead or behind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClockOrder {
    /// It says an earlier time.
    Earlier,
    /// It says a later time.
    Later,
}

impl fmt::Display for ClockOrder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Earlier => "earlier",
            Self::Later => "later",
        })
    }
}

impl FromStr for ClockOrder {
    type Err = ();

    fn from_str(text: &str) -> Result<Self, ()> {
        match text {
            "earlier" => Ok(Self::Earlier),
            "later" => Ok(Self::Later),
            _ => Err(()),
        }
    }
}
