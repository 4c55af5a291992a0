//! Config of the input lines, the lamp and the sounder.

use std::path::PathBuf;

use serde::Deserialize;

use crate::input_line::InputLine;

/// The lines. Those without a pin of their own are read from the feed, if
/// there is one.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct LinesConfig {
    /// How long a level must last to count, in milliseconds, 0 to 80.
    pub debounce_ms: u32,
    /// The key line.
    pub ptt: Option<InputPinConfig>,
    /// The mark button.
    pub mark: Option<InputPinConfig>,
    /// Active while the button's wire is broken or shorted.
    pub button_fault: Option<InputPinConfig>,
    /// Active while the ignition is on.
    pub ignition: Option<InputPinConfig>,
    /// Active while the supply is failing.
    pub low_supply: Option<InputPinConfig>,
    /// The receiver's pulse at every full second; its edge to active is exact.
    pub pulse: Option<InputPinConfig>,
    /// The lamp.
    pub lamp: Option<OutputPinConfig>,
    /// The sounder (a buzzer that sounds by itself when driven).
    pub sounder: Option<OutputPinConfig>,
    /// Text lines such as `ptt 1` and `ptt 0` from another program; the names are those of
    /// the pins.
    pub feed: Option<FeedConfig>,
}

impl Default for LinesConfig {
    fn default() -> Self {
        Self {
            debounce_ms: 12,
            ptt: None,
            mark: None,
            button_fault: None,
            ignition: None,
            low_supply: None,
            pulse: None,
            lamp: None,
            sounder: None,
            feed: None,
        }
    }
}

impl LinesConfig {
    /// The pin of this line, if it has one.
    pub const fn pin(&self, line: InputLine) -> Option<&InputPinConfig> {
        match line {
            InputLine::Ptt => self.ptt.as_ref(),
            InputLine::Mark => self.mark.as_ref(),
            InputLine::ButtonFault => self.button_fault.as_ref(),
            InputLine::Ignition => self.ignition.as_ref(),
            InputLine::LowSupply => self.low_supply.as_ref(),
        }
    }

    pub(super) fn check(&self) -> Result<(), String> {
        if self.debounce_ms > 80 {
            return Err(format!(
                "lines.debounce_ms is {}; it must be 0 to 80",
                self.debounce_ms
            ));
        }
        Ok(())
    }
}

/// Where line levels come from when there are no pins.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FeedConfig {
    /// A named pipe; created if it does not exist.
    Fifo(PathBuf),
    /// A Unix socket; created by the recorder, one writer at a time.
    Socket(PathBuf),
}

/// A GPIO line that is read.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct InputPinConfig {
    /// The chip, such as "/dev/gpiochip0".
    pub chip: PathBuf,
    /// The line's number on the chip.
    pub line: u32,
    /// Which level means active.
    #[serde(default = "ActiveLevel::low")]
    pub active: ActiveLevel,
    /// The pull resistor on the board.
    #[serde(default)]
    pub pull: PullResistor,
}

/// A GPIO line that is driven.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OutputPinConfig {
    /// The chip, such as "/dev/gpiochip0".
    pub chip: PathBuf,
    /// The line's number on the chip.
    pub line: u32,
    /// Which level lights or sounds.
    #[serde(default = "ActiveLevel::high")]
    pub active: ActiveLevel,
}

/// Which level means active.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ActiveLevel {
    /// High.
    High,
    /// Low.
    Low,
}

impl ActiveLevel {
    const fn low() -> Self {
        Self::Low
    }

    const fn high() -> Self {
        Self::High
    }
}

/// A pull resistor.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PullResistor {
    /// As the board is wired.
    #[default]
    AsIs,
    /// To the supply.
    Up,
    /// To ground.
    Down,
    /// None.
    Off,
}
