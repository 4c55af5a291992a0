//! The header of a conversation: the dial, and what is known of each station.

use crate::written::sheet_error::SheetFault;
use crate::written::slot::{SpellingWords, StationField};

/// Bands as amateurs name them, with the voice segment from which a place is drawn, in
/// hertz (common practice in North America and Europe).
pub(super) const BANDS: [(&str, u64, u64); 17] = [
    ("160m", 1_845_000, 1_990_000),
    ("80m", 3_650_000, 3_790_000),
    ("60m", 5_354_000, 5_362_000),
    ("40m", 7_130_000, 7_195_000),
    ("30m", 10_110_000, 10_140_000),
    ("20m", 14_160_000, 14_345_000),
    ("17m", 18_120_000, 18_165_000),
    ("15m", 21_210_000, 21_440_000),
    ("12m", 24_935_000, 24_985_000),
    ("10m", 28_320_000, 28_680_000),
    ("6m", 50_130_000, 50_300_000),
    ("4m", 70_250_000, 70_450_000),
    ("2m", 145_210_000, 146_980_000),
    ("1.25m", 223_500_000, 224_980_000),
    ("70cm", 433_400_000, 446_100_000),
    ("33cm", 927_500_000, 927_900_000),
    ("23cm", 1_294_500_000, 1_296_200_000),
];

/// Rig control's words for the modes of voice.
pub(super) const MODES: [&str; 4] = ["USB", "LSB", "FM", "AM"];

/// Where the dial stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum WrittenDial {
    /// Somewhere in the voice segment of a band.
    Band {
        /// First and last hertz of the segment.
        segment_hz: (u64, u64),
        /// Rig control's word.
        mode: String,
    },
    /// There.
    Exact {
        /// Hertz.
        hz: u64,
        /// Rig control's word; `None` keeps the mode.
        mode: Option<String>,
    },
}

impl WrittenDial {
    /// Reads "20m" and "USB", or "14262.5" and "USB".
    pub(super) fn read(place: &str, mode: &str) -> Option<Self> {
        let mode = MODES.iter().find(|known| **known == mode)?;
        match BANDS.iter().find(|(name, ..)| *name == place) {
            Some((_, low, high)) => Some(Self::Band {
                segment_hz: (*low, *high),
                mode: (*mode).to_owned(),
            }),
            None => Self::exact(place, Some(mode)),
        }
    }

    /// Reads a frequency in kilohertz.
    pub(super) fn exact(khz: &str, mode: Option<&str>) -> Option<Self> {
        let khz: f64 = khz.parse().ok()?;
        (100.0..10_000_000.0).contains(&khz).then(|| Self::Exact {
            hz: (khz * 1e3).round() as u64,
            mode: mode.map(str::to_owned),
        })
    }
}

/// Letters before and after the figure of a sign.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SignShape {
    /// So many before and after one figure.
    Letters(usize, usize),
    /// Several figures, or a long suffix.
    Special,
}

/// A woman's or a man's voice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum VoiceSex {
    /// A woman's.
    Woman,
    /// A man's.
    Man,
}

/// How fast somebody speaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum TempoWord {
    /// Slowly.
    Slow,
    /// As most do.
    #[default]
    Usual,
    /// Fast.
    Fast,
}

/// What a header line says of a station.
#[derive(Debug, Clone, PartialEq)]
pub struct StationLine {
    /// Its letter.
    pub letter: char,
    /// Where its sign is from.
    pub country: String,
    /// The sign's shape, where the writer wants one.
    pub shape: Option<SignShape>,
    /// What follows or precedes its sign on the air: "/P", "F/".
    pub addition: Option<String>,
    /// Values that the writer gave.
    pub values: Vec<(StationField, String)>,
    /// The voice.
    pub sex: Option<VoiceSex>,
    /// How it spells.
    pub words: Option<SpellingWords>,
    /// English is its second language.
    pub accent: bool,
    /// How fast it speaks.
    pub tempo: TempoWord,
    /// Off tune by so many hertz.
    pub off_hz: f32,
    /// Stronger or weaker than the conversation's level, in dB.
    pub level_db: f32,
}

impl StationLine {
    /// Reads what follows "A:".
    pub(super) fn read(letter: char, text: &str) -> Result<Self, SheetFault> {
        let mut line = Self {
            letter,
            country: String::new(),
            shape: None,
            addition: None,
            values: Vec::new(),
            sex: None,
            words: None,
            accent: false,
            tempo: TempoWord::Usual,
            off_hz: 0.0,
            level_db: 0.0,
        };
        for word in text.split(',') {
            line.take(word.trim()).ok_or(SheetFault::StationWord)?;
        }
        if line.country.is_empty() {
            return Err(SheetFault::Country(String::new()));
        }
        Ok(line)
    }

    fn take(&mut self, word: &str) -> Option<()> {
        let (head, rest) = word.split_once(' ').unwrap_or((word, ""));
        let number = |text: &str| text.parse::<f32>().ok();
        match (head, rest) {
            ("woman", "") => self.sex = Some(VoiceSex::Woman),
            ("man", "") => self.sex = Some(VoiceSex::Man),
            ("accent", "") => self.accent = true,
            ("special", "") => self.shape = Some(SignShape::Special),
            ("tempo", "slow") => self.tempo = TempoWord::Slow,
            ("tempo", "fast") => self.tempo = TempoWord::Fast,
            ("alphabet", "old") => self.words = Some(SpellingWords::Old),
            ("alphabet", "mixed") => self.words = Some(SpellingWords::Mixed),
            ("alphabet", "letters") => self.words = Some(SpellingWords::Letters),
            ("addition", addition) if is_addition(addition) => {
                self.addition = Some(addition.to_owned())
            }
            ("off", hertz) if !hertz.is_empty() => self.off_hz = number(hertz)?,
            ("quieter", db) if !db.is_empty() => self.level_db = -number(db)?,
            ("louder", db) if !db.is_empty() => self.level_db = number(db)?,
            ("name" | "place" | "state" | "county", value) if !value.is_empty() => {
                self.values
                    .push((StationField::named(head)?, value.to_owned()));
            }
            _ => match shape(word) {
                Some(shape) => self.shape = Some(shape),
                None if self.country.is_empty() && is_country(word) => {
                    self.country = word.to_owned()
                }
                None => return None,
            },
        }
        Some(())
    }
}

/// "2x3".
fn shape(word: &str) -> Option<SignShape> {
    let (before, after) = word.split_once('x')?;
    let (before, after) = (before.parse().ok()?, after.parse().ok()?);
    ((1..=2).contains(&before) && (1..=3).contains(&after))
        .then_some(SignShape::Letters(before, after))
}

/// "/P" after a sign or "F/" before one.
fn is_addition(text: &str) -> bool {
    let inner = text.strip_prefix('/').or_else(|| text.strip_suffix('/'));
    inner.is_some_and(|inner| {
        (1..=4).contains(&inner.len())
            && inner
                .chars()
                .all(|symbol| symbol.is_ascii_uppercase() || symbol.is_ascii_digit())
    })
}

fn is_country(word: &str) -> bool {
    word.starts_with(|first: char| first.is_ascii_uppercase())
        && word
            .chars()
            .all(|symbol| symbol.is_alphabetic() || " '-".contains(symbol))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stations_line_is_read() {
        let line = StationLine::read(
            'A',
            "Canary Islands, 2x1, addition /P, name Bob, woman, alphabet old, accent, tempo fast, off -150, quieter 8",
        );
        let line = line.unwrap();
        assert_eq!(line.country, "Canary Islands");
        assert_eq!(line.shape, Some(SignShape::Letters(2, 1)));
        assert_eq!(line.addition.as_deref(), Some("/P"));
        assert_eq!(line.values, [(StationField::Name, "Bob".to_owned())]);
        assert_eq!(line.sex, Some(VoiceSex::Woman));
        assert_eq!(line.words, Some(SpellingWords::Old));
        assert!(line.accent);
        assert_eq!(line.tempo, TempoWord::Fast);
        assert_eq!((line.off_hz, line.level_db), (-150.0, -8.0));
    }

    #[test]
    fn what_it_cannot_hold_is_refused() {
        for (text, fault) in [
            ("2x3", SheetFault::Country(String::new())),
            ("Germany, 3x4", SheetFault::StationWord),
            ("Germany, loud", SheetFault::StationWord),
            ("Germany, France", SheetFault::StationWord),
            ("Germany, addition /", SheetFault::StationWord),
            ("Germany, off tune", SheetFault::StationWord),
            ("Germany, ", SheetFault::StationWord),
        ] {
            assert_eq!(StationLine::read('A', text), Err(fault), "{text}");
        }
    }
}
