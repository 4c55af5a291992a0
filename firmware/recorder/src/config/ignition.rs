//! Config of the ignition and the power-down.

use jumpseat_core::power::StayAwake;
use serde::Deserialize;

/// How long the board stays awake, and how it powers down.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct IgnitionConfig {
    /// Seconds awake after the ignition went off, 0 to 86400.
    pub stay_awake_s: u32,
    /// Seconds awake at most, however long a pull takes, 0 to 86400.
    pub at_most_s: u32,
    /// The program that powers the board down, and its arguments. Empty: none.
    pub power_down: Vec<String>,
}

impl Default for IgnitionConfig {
    fn default() -> Self {
        Self {
            stay_awake_s: 600,
            at_most_s: 3_600,
            power_down: vec!["systemctl".to_owned(), "poweroff".to_owned()],
        }
    }
}

impl IgnitionConfig {
    /// The same as the core's type.
    pub(crate) fn stay_awake(&self) -> StayAwake {
        StayAwake {
            for_ns: u64::from(self.stay_awake_s) * 1_000_000_000,
            at_most_ns: u64::from(self.at_most_s) * 1_000_000_000,
        }
    }

    pub(super) fn check(&self) -> Result<(), String> {
        const DAY: u32 = 86_400;
        if self.at_most_s > DAY || self.stay_awake_s > self.at_most_s {
            return Err(format!(
                "ignition.stay_awake_s is {} and at_most_s is {}; the first must not be more than \
                 the second, and that not more than {DAY}",
                self.stay_awake_s, self.at_most_s
            ));
        }
        Ok(())
    }
}
