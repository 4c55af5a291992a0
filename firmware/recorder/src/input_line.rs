//! The input lines of the board, under the names of the feed and the config. The pulse of
//! the receiver is not among them: see `lines/pulse.rs`.

/// An input line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InputLine {
    /// The key line.
    Ptt,
    /// The mark button.
    Mark,
    /// The mark button's wire: active while it is broken or shorted.
    ButtonFault,
    /// The ignition line: active while the ignition is on.
    Ignition,
    /// The low-supply line: active while the supply is failing.
    LowSupply,
}

impl InputLine {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::Ptt,
        Self::Mark,
        Self::ButtonFault,
        Self::Ignition,
        Self::LowSupply,
    ];

    /// The name used in the feed, in the config and in messages.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Ptt => "ptt",
            Self::Mark => "mark",
            Self::ButtonFault => "button_fault",
            Self::Ignition => "ignition",
            Self::LowSupply => "low_supply",
        }
    }
}
