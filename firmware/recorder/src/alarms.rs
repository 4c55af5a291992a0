//! Which lasting states the operator should hear of.

use jumpseat_core::signal::OperatorSignal;

const SECOND_NS: u64 = 1_000_000_000;

/// No samples for this long is 'no sound coming in'.
pub(crate) const NO_SAMPLES_AFTER_NS: u64 = 2 * SECOND_NS;

/// What the alarms are judged by.
#[derive(Debug, Clone, Default)]
pub(crate) struct AlarmStates {
    /// Samples stopped coming.
    pub(crate) no_samples: bool,
    /// Samples come, and all are silent.
    pub(crate) silent: bool,
    /// The last sync put audio on the card.
    pub(crate) recording: bool,
    /// Less is free than the config's floor.
    pub(crate) card_low: bool,
    /// The card could not be written.
    pub(crate) card_failing: bool,
    /// The card is full but for a reserve: not everything is kept.
    pub(crate) saving: bool,
    /// The button's wire is broken or shorted.
    pub(crate) button: bool,
    /// A receiver is configured, its time is overdue.
    pub(crate) no_time: bool,
}

impl AlarmStates {
    /// The states that last, as the sounder and the lamp know them.
    pub(crate) fn states(&self) -> Vec<OperatorSignal> {
        let no_sound = self.no_samples || self.silent;
        let recording = self.recording && !no_sound && !self.card_failing && !self.saving;
        [
            (no_sound, OperatorSignal::NoSound),
            (self.saving, OperatorSignal::TransmitOnly),
            (
                (self.card_low && !self.saving) || self.card_failing,
                OperatorSignal::CardNearlyFull,
            ),
            (self.button, OperatorSignal::ButtonFault),
            (self.no_time, OperatorSignal::NoTime),
            (recording, OperatorSignal::Recording),
        ]
        .into_iter()
        .filter_map(|(lasts, signal)| lasts.then_some(signal))
        .collect()
    }
}
