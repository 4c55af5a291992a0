//! What the engine does as the card fills up.

use jumpseat_core::journal::RecorderFault;

use super::RecordingEngine;
use crate::config::CardConfig;
use crate::trip::SavingMode;

const MIB: u64 = 1 << 20;
/// Below this only the journal is written: it takes 10 MiB a day at most.
const JOURNAL_ONLY_BYTES: u64 = 8 * MIB;
/// This much more must be free before saving ends.
const SAVING_HYSTERESIS_BYTES: u64 = 8 * MIB;

/// Free bytes below which the engine acts.
#[derive(Debug, Clone, Copy)]
pub(super) struct SpaceThresholds {
    nearly_full: u64,
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
    fn thrift(self, free: u64, now: SavingMode) -> SavingMode {
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

impl RecordingEngine {
    pub(super) fn look_at_space(&mut self, now_ns: u64) {
        let Some(free) = self.trip.free_bytes() else {
            return;
        };
        let low = free < self.thresholds.space.nearly_full;
        if low != self.alarms.card_low {
            self.alarms.card_low = low;
            let detail = format!("{} MiB free", free / MIB);
            if low {
                self.fault(RecorderFault::CardFull, &detail, now_ns);
            } else {
                self.recovery(RecorderFault::CardFull, &detail, now_ns);
            }
        }
        let before = self.trip.saving_mode();
        let thrift = self.thresholds.space.thrift(free, before);
        if thrift != before {
            self.save(thrift, free, now_ns);
        }
    }

    fn save(&mut self, thrift: SavingMode, free: u64, now_ns: u64) {
        let free = free / MIB;
        let detail = match thrift {
            SavingMode::Off => format!("{free} MiB free: everything is kept again"),
            SavingMode::TransmitOnly => {
                format!("{free} MiB free: only the journal and what is transmitted are kept")
            }
            SavingMode::JournalOnly => format!("{free} MiB free: only the journal is kept"),
        };
        if thrift == SavingMode::Off {
            self.recovery(RecorderFault::CardFull, &detail, now_ns);
        } else {
            self.fault(RecorderFault::CardFull, &detail, now_ns);
        }
        self.alarms.saving = thrift != SavingMode::Off;
        self.trip.set_saving_mode(thrift);
        // The open segment is completed; the mode applies from the next one on.
        let (trip, clock) = (&mut self.trip, &self.clock);
        let at = |sample| clock.mono_at(sample).unwrap_or(now_ns);
        self.segmenter.cut(|step| trip.step(&step, at));
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
        assert_eq!(space.thrift(free_mib * MIB, now), expected);
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
