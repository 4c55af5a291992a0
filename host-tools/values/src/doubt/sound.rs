//! Doubts about the level of the sound.

use std::fmt;
use std::str::FromStr;

use crate::Rounded;

doubts! {
    /// What is wrong with the level of receive or transmit audio.
    pub enum SoundDoubt {
        /// It is too loud.
        Clips {
            /// Whose.
            side: AudioSide,
            /// How many of the samples stand at either end of the scale, per cent.
            percent: Rounded<2>,
        } => "{side} audio clips in {percent} % of its samples: turn its level down",
        /// There is no sound in it.
        Silent {
            /// Whose.
            side: AudioSide,
        } => "{side} audio is silent: check its cable",
        /// Speech is too low to be heard well by machine or ear.
        TooLow {
            /// Whose.
            side: AudioSide,
            /// Level of speech, decibels below full scale.
            below_db: Rounded<0>,
        } => "{side} audio is too low ({below_db} dB below full scale): turn its level up",
    }
}

/// Received or transmitted sound.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AudioSide {
    /// What came from the receiver.
    Receive,
    /// What the operator said.
    Transmit,
}

impl fmt::Display for AudioSide {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Receive => "receive",
            Self::Transmit => "transmit",
        })
    }
}

impl FromStr for AudioSide {
    type Err = ();

    fn from_str(text: &str) -> Result<Self, ()> {
        match text {
            "receive" => Ok(Self::Receive),
            "transmit" => Ok(Self::Transmit),
            _ => Err(()),
        }
    }
}
