//! Decides from the free space what is kept as the card fills up.

use crate::config::CardConfig;
use crate::trip::SavingMode;

pub(super) const MIB: u64 = 1 << 20;
/// Below this only the journal is written: it takes 10 MiB a day at most.
const JOURNAL_ONLY_BYTES: u64 = 8 * MIB;
/// This much more must be free before saving ends.
const SAVING_HYSTERESIS_BYTES: u64 = 8 * MIB;

/// Free bytes below which the engine acts.
#[derive(Debug, Clone, Copy)]
pub(super) struct SpaceThresholds {
    pub(super) nearly_full: u64,
    transmit_only: u64,
}

impl SpaceThresholds {
    pub(super) const fn from_config(card: &CardConfig) -> Self {
        Self {
            nearly_full: card.nearly_full_mib.saturating_mul(MIB),
            transmit_only: card.transmit_only_mib.saturating_mul(MIB),
        }
    }

    /// The saving mode for this much free space. A card with `transmit_only_mib = 0` is
    /// written until it is full.
    pub(super) fn saving_mode(self, free: u64, now: SavingMode) -> SavingMode {
        let below = |limit: u64, saving: SavingMode| {
            let ends = limit.saturating_add(if now >= saving {
                SAVING_HYSTERESIS_BYTES
            } else {
                0
            });
            limit > 0 && free < ends
        };
        let journal = JOURNAL_ONLY_BYTES.min(self.transmit_only / 2);
        if below(journal, SavingMode::JournalOnly) {
            SavingMode::JournalOnly
        } else if below(self.transmit_only, SavingMode::TransmitOnly) {
            SavingMode::TransmitOnly
        } else {
            SavingMode::Off
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use SavingMode::{JournalOnly, Off, TransmitOnly};

    #[track_caller]
    fn check(free_mib: u64, now: SavingMode, expected: SavingMode) {
        let space = SpaceThresholds {
            nearly_full: 512 * MIB,
            transmit_only: 64 * MIB,
        };
        assert_eq!(space.saving_mode(free_mib * MIB, now), expected);
    }

    #[test]
    fn saving_begins_at_its_limit_and_ends_above_it() {
        check(65, Off, Off);
        check(63, Off, TransmitOnly);
        check(70, TransmitOnly, TransmitOnly);
        check(73, TransmitOnly, Off);
        check(7, TransmitOnly, JournalOnly);
        check(12, JournalOnly, JournalOnly);
        check(20, JournalOnly, TransmitOnly);
    }
}
