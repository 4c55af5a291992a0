//! What a stretch of events holds.

use crate::Direction;
use crate::event::Event;

/// What a stretch of events holds.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Counts {
    pub(crate) transmitted: usize,
    pub(crate) received: usize,
    /// Times that the operator spoke again after somebody else had.
    pub(crate) exchanges: usize,
    /// Times that the word went from one side to the other.
    pub(crate) turns: usize,
}

impl Counts {
    /// With one more event, which follows `before`.
    pub(crate) fn with(mut self, event: &Event, before: Option<&Event>) -> Self {
        self.turns += usize::from(before.is_some_and(|one| one.direction != event.direction));
        match event.direction {
            Direction::Tx => {
                self.transmitted += 1;
                let after_speech = before.is_some_and(|one| one.direction == Direction::Rx);
                self.exchanges += usize::from(after_speech && self.transmitted > 1);
            }
            Direction::Rx => self.received += 1,
        }
        self
    }
}
