//! Stage directions: what happens between the turns.

use crate::scenario::{CarNoise, DriveEffect};
use crate::written::header::WrittenDial;
use crate::written::sheet_error::SheetFault;

/// Something that happens between two turns.
#[derive(Debug, Clone, PartialEq)]
pub enum StageDirection {
    /// The operator presses the mark button.
    Mark,
    /// So many seconds of nothing.
    Pause(f64),
    /// The dial moves by so many hertz.
    DialBy(i64),
    /// The dial moves there; without a mode it keeps the one it has.
    DialTo(WrittenDial),
    /// The dial moves across the band for so many seconds.
    Tuning(f64),
    /// From here on a station arrives weaker (below 0) or stronger, in dB.
    Level(char, f32),
    /// The first syllable of the station's next turn is cut.
    Clip(char),
    /// Something is heard or done.
    Effect(DriveEffect),
}

impl StageDirection {
    /// Reads what stands between brackets.
    pub fn read(text: &str) -> Result<Self, SheetFault> {
        Self::read_words(text).ok_or(SheetFault::Direction)
    }

    fn read_words(text: &str) -> Option<Self> {
        let words: Vec<&str> = text.split(' ').collect();
        let seconds = |text: &str| {
            text.parse::<f64>()
                .ok()
                .filter(|value| (0.0..3_600.0).contains(value))
        };
        Some(match words.as_slice() {
            ["mark"] => Self::Mark,
            ["pause", value] => Self::Pause(seconds(value)?),
            ["minutes", value] => Self::Pause(60.0 * seconds(value)?),
            ["dial", value] if value.starts_with(['+', '-']) => {
                Self::DialBy((value.parse::<f64>().ok()? * 1e3).round() as i64)
            }
            ["dial", khz] => Self::DialTo(WrittenDial::exact(khz, None)?),
            ["dial", place, mode] => Self::DialTo(WrittenDial::read(place, mode)?),
            ["tuning", value] => Self::Tuning(seconds(value)?),
            ["fade", who, db] => Self::Level(station(who)?, -db.parse::<f32>().ok()?),
            ["rise", who, db] => Self::Level(station(who)?, db.parse::<f32>().ok()?),
            ["clip", who] => Self::Clip(station(who)?),
            ["squelch"] => Self::Effect(DriveEffect::SquelchTail),
            ["kerchunk"] => Self::Effect(DriveEffect::Kerchunk),
            ["courtesy"] => Self::Effect(DriveEffect::CourtesyTone),
            ["time-out"] => Self::Effect(DriveEffect::TimeOut),
            ["morse", "REPEATER"] => Self::Effect(DriveEffect::MorseIdentifier),
            ["tuner", value] => Self::Effect(DriveEffect::Tuner(seconds(value)?)),
            ["splatter", value] => Self::Effect(DriveEffect::Splatter(seconds(value)?)),
            ["wiper"] => Self::Effect(DriveEffect::Noise(CarNoise::Wiper)),
            ["wind"] => Self::Effect(DriveEffect::Noise(CarNoise::Wind)),
            ["fan"] => Self::Effect(DriveEffect::Noise(CarNoise::Fan)),
            ["indicator"] => Self::Effect(DriveEffect::Noise(CarNoise::Indicator)),
            ["quiet"] => Self::Effect(DriveEffect::Quiet),
            ["leak"] => Self::Effect(DriveEffect::Leak),
            _ => return None,
        })
    }

    /// The station that it is about.
    pub fn station(&self) -> Option<char> {
        match self {
            Self::Level(letter, _) | Self::Clip(letter) => Some(*letter),
            _ => None,
        }
    }
}

fn station(text: &str) -> Option<char> {
    let mut letters = text.chars();
    match (letters.next(), letters.next()) {
        (Some(letter @ 'A'..='F'), None) => Some(letter),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::written::header::{BANDS, MODES};

    #[test]
    fn every_direction_of_the_format_is_read() {
        for (text, expected) in [
            ("mark", StageDirection::Mark),
            ("pause 8", StageDirection::Pause(8.0)),
            ("minutes 4", StageDirection::Pause(240.0)),
            ("dial +3.5", StageDirection::DialBy(3_500)),
            ("dial -12", StageDirection::DialBy(-12_000)),
            ("fade A 10", StageDirection::Level('A', -10.0)),
            ("rise B 6", StageDirection::Level('B', 6.0)),
            ("clip A", StageDirection::Clip('A')),
            (
                "morse REPEATER",
                StageDirection::Effect(DriveEffect::MorseIdentifier),
            ),
            ("tuner 4", StageDirection::Effect(DriveEffect::Tuner(4.0))),
            (
                "indicator",
                StageDirection::Effect(DriveEffect::Noise(CarNoise::Indicator)),
            ),
        ] {
            assert_eq!(StageDirection::read(text), Ok(expected), "{text}");
        }
        for (band, ..) in BANDS {
            for mode in MODES {
                assert!(StageDirection::read(&format!("dial {band} {mode}")).is_ok());
            }
        }
    }

    #[test]
    fn others_are_refused() {
        for text in [
            "",
            "pause",
            "pause long",
            "pause -1",
            "dial 40m",
            "dial up",
            "fade G 3",
            "fade 3",
            "leak 4",
        ] {
            assert_eq!(
                StageDirection::read(text),
                Err(SheetFault::Direction),
                "{text}"
            );
        }
    }
}
