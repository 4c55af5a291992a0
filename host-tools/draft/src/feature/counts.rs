//! What a stretch of events holds.

use crate::OverDirection;
use crate::cut::DriveEvent;

/// What a stretch of events holds.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct EventCounts {
    pub(crate) transmitted: usize,
    pub(crate) received: usize,
    /// Times that the operator spoke again after somebody else had.
    pub(crate) exchanges: usize,
    /// Times that the word went from one side to the other.
    pub(crate) turns: usize,
}

impl EventCounts {
    /// With one more event, which follows `before`.
    pub(crate) fn with(mut self, event: &DriveEvent, before: Option<&DriveEvent>) -> Self {
        self.turns += usize::from(before.is_some_and(|one| one.direction != event.direction));
        match event.direction {
            OverDirection::Tx => {
                self.transmitted += 1;
                let after_speech = before.is_some_and(|one| one.direction == OverDirection::Rx);
                self.exchanges += usize::from(after_speech && self.transmitted > 1);
            }
            OverDirection::Rx => self.received += 1,
        }
        self
    }
}
