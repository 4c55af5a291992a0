//! What the radio was tuned to.

use serde::{Deserialize, Serialize};

/// Frequency and mode, as rig control reported them.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct DialSetting {
    /// Frequency in hertz.
    pub hz: u64,
    /// Mode in rig control's word, such as "USB" or "FM".
    pub mode: String,
}
