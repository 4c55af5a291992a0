//! The config file: TOML, in which an unknown key is an error.

mod ignition;
mod lines;
mod sources;

use std::fs;
use std::path::{Path, PathBuf};

use jumpseat_core::call_sign;
use serde::Deserialize;

pub use ignition::IgnitionConfig;
pub use lines::{
    ActiveLevel, FeedConfig, InputPinConfig, LinesConfig, OutputPinConfig, PullResistor,
};
pub use sources::{DialConfig, GpsConfig, SerialConfig, SoundConfig};

use crate::error::RecorderError;

/// Default path of the config file.
pub const DEFAULT_PATH: &str = "/etc/jumpseat/recorder.toml";

/// The whole config file. Every part may be left out.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct RecorderConfig {
    /// A device that is missing at start is waited for while everything else
    /// is recorded. `false`: the recorder ends with exit code 1 instead.
    pub wait_for_devices: bool,
    /// Who is on the air.
    pub station: StationConfig,
    /// Where trips go.
    pub card: CardConfig,
    /// The sound device.
    pub sound: SoundConfig,
    /// Key line, mark button, lamp and sounder.
    pub lines: LinesConfig,
    /// What happens when the ignition goes off or the supply fails.
    pub ignition: IgnitionConfig,
    /// The GPS receiver.
    pub gps: GpsConfig,
    /// Rig control.
    pub dial: DialConfig,
}

impl Default for RecorderConfig {
    fn default() -> Self {
        Self {
            wait_for_devices: true,
            station: StationConfig::default(),
            card: CardConfig::default(),
            sound: SoundConfig::default(),
            lines: LinesConfig::default(),
            ignition: IgnitionConfig::default(),
            gps: GpsConfig::default(),
            dial: DialConfig::default(),
        }
    }
}

/// Written into every trip, so that the log knows whose trip it is.
#[derive(Debug, Clone, Default, PartialEq, Eq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct StationConfig {
    /// Station call sign.
    pub call: Option<String>,
    /// Operator's call sign, where it is another.
    pub operator: Option<String>,
}

/// The folder that holds the trips.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct CardConfig {
    /// The folder; must exist.
    pub dir: PathBuf,
    /// The board's id, six lower-case hexadecimal digits. Left out: made from
    /// the machine's own id.
    pub board: Option<String>,
    /// A file outside the card that holds the last trip's number too, so that a fresh card
    /// repeats none. Empty: no such file.
    pub last_trip: PathBuf,
    /// The alarm sounds when less than this is free, in MiB. An hour of audio
    /// takes 110 MiB.
    pub nearly_full_mib: u64,
    /// When less than this is free, in MiB, and nothing on the card is known to
    /// be safe at home, only the journal and what is transmitted are kept.
    /// At most `nearly_full_mib`. 0: everything is kept until the card is full.
    pub transmit_only_mib: u64,
}

impl Default for CardConfig {
    fn default() -> Self {
        Self {
            dir: PathBuf::from("/var/lib/jumpseat"),
            board: None,
            last_trip: PathBuf::from("/var/lib/jumpseat-recorder/last-trip"),
            nearly_full_mib: 512,
            transmit_only_mib: 64,
        }
    }
}

impl RecorderConfig {
    /// Reads and checks a config file.
    ///
    /// # Errors
    /// [`RecorderError::Io`] when it cannot be read, [`RecorderError::Config`]
    /// with the line and the allowed values when it is wrong.
    pub fn load(path: &Path) -> Result<Self, RecorderError> {
        let wrong = |problem: String| RecorderError::Config {
            path: path.to_owned(),
            problem,
        };
        let text = match fs::read_to_string(path) {
            Err(source) if source.kind() == std::io::ErrorKind::NotFound => {
                return Err(wrong(
                    "there is no such file; name yours with --config FILE, or copy the commented \
                     recorder.toml of the package there"
                        .into(),
                ));
            }
            read => {
                read.map_err(|source| RecorderError::io("read the config file", path, source))?
            }
        };
        Self::parse(&text).map_err(wrong)
    }

    /// Checks the text of a config file.
    ///
    /// # Errors
    /// What is wrong and what is allowed, for a person.
    pub fn parse(text: &str) -> Result<Self, String> {
        let config: Self = toml::from_str(text).map_err(|error| error.to_string())?;
        config.check()?;
        Ok(config)
    }

    /// What a person should check. Recording goes on all the same: a drive is worth more
    /// than a call sign, which can be corrected at home.
    pub fn doubts(&self) -> Vec<String> {
        let station = &self.station;
        [("call", &station.call), ("operator", &station.operator)]
            .into_iter()
            .filter_map(|(key, value)| {
                let value = value.as_ref()?;
                let error = call_sign::normalized(value).err()?;
                Some(format!(
                    "station.{key} = {value:?} cannot be a call sign: {error}; \
                     write your own, such as \"W7QTM\" or \"W7QTM/P\", or leave it out"
                ))
            })
            .collect()
    }

    fn check(&self) -> Result<(), String> {
        if let Some(board) = &self.card.board {
            let hex = |digit: u8| matches!(digit, b'0'..=b'9' | b'a'..=b'f');
            if board.len() != 6 || !board.bytes().all(hex) {
                return Err(format!(
                    "card.board is {board:?}; it must be six digits of 0-9 and a-f, such as \"3fa2c1\""
                ));
            }
        }
        if self.card.transmit_only_mib > self.card.nearly_full_mib {
            return Err(format!(
                "card.transmit_only_mib is {}; it must be 0 to card.nearly_full_mib, which is {}",
                self.card.transmit_only_mib, self.card.nearly_full_mib
            ));
        }
        self.sound.check()?;
        self.lines.check()?;
        self.ignition.check()?;
        self.gps.check()?;
        self.dial.check()
    }
}

#[cfg(test)]
mod tests;
