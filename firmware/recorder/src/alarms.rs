//! Decides which states are signalled to the operator.

use jumpseat_core::signal::OperatorSignal;

const SECOND_NS: u64 = 1_000_000_000;

/// Without samples for this long the state is 'no sound coming in'.
pub(crate) const NO_SAMPLES_AFTER_NS: u64 = 2 * SECOND_NS;

/// The conditions that the signalled states depend on.
#[derive(Debug, Clone, Default)]
pub(crate) struct AlarmStates {
    /// No samples arrive.
    pub(crate) no_samples: bool,
    /// Samples arrive, and all are silent.
    pub(crate) silent: bool,
    /// The last sync put audio on the card.
    pub(crate) recording: bool,
    /// Less space is free than `card.nearly_full_mib`.
    pub(crate) card_low: bool,
    /// The card could not be written.
    pub(crate) card_failing: bool,
    /// The card is full except for a reserve: not everything is kept.
    pub(crate) saving: bool,
    /// The button's wire is broken or shorted.
    pub(crate) button: bool,
    /// A receiver is configured, and its time is overdue.
    pub(crate) no_time: bool,
}

impl AlarmStates {
    /// The current states, for the sounder and the lamp.
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
