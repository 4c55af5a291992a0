//! What the engine does as the card fills up.

use jumpseat_core::journal::RecorderFault;

use super::RecordingEngine;
use super::space_thresholds::MIB;
use crate::trip::SavingMode;

impl RecordingEngine {
    /// Raises or ends the alarm of a full card, and changes what is kept.
    pub(super) fn check_space(&mut self, now_ns: u64) {
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
        let mode = self.thresholds.space.saving_mode(free, before);
        if mode != before {
            self.save(mode, free, now_ns);
        }
    }

    fn save(&mut self, mode: SavingMode, free: u64, now_ns: u64) {
        let free = free / MIB;
        let detail = match mode {
            SavingMode::Off => format!("{free} MiB free: everything is kept again"),
            SavingMode::TransmitOnly => {
                format!("{free} MiB free: only the journal and what is transmitted are kept")
            }
            SavingMode::JournalOnly => format!("{free} MiB free: only the journal is kept"),
        };
        if mode == SavingMode::Off {
            self.recovery(RecorderFault::CardFull, &detail, now_ns);
        } else {
            self.fault(RecorderFault::CardFull, &detail, now_ns);
        }
        self.alarms.saving = mode != SavingMode::Off;
        self.trip.set_saving_mode(mode);
        // The open segment is completed; the mode applies from the next one on.
        let (trip, clock) = (&mut self.trip, &self.clock);
        let at = |sample| clock.mono_at(sample).unwrap_or(now_ns);
        self.segmenter.cut(|step| trip.step(&step, at));
    }
}
