//! One reading of the rig's dial, as it goes from the dial thread to the journal.

use jumpseat_core::journal::ShortText;

/// One reading of the rig's dial.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RigReading {
    /// Frequency in hertz.
    pub hz: u64,
    /// Mode as rig control names it, such as "USB".
    pub mode: ShortText,
}
