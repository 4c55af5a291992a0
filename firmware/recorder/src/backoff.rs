//! The growing waits between attempts to open a device.

use std::time::Duration;

const FIRST_WAIT: Duration = Duration::from_millis(250);
const LONGEST_WAIT: Duration = Duration::from_secs(8);

/// Doubles from 0.25 s to 8 s, and starts over after a success.
#[derive(Debug, Clone)]
pub struct RetryBackoff {
    next: Duration,
}

impl Default for RetryBackoff {
    fn default() -> Self {
        Self::new()
    }
}

impl RetryBackoff {
    /// Starts with the shortest wait.
    pub const fn new() -> Self {
        Self { next: FIRST_WAIT }
    }

    /// The next wait.
    pub fn wait(&mut self) -> Duration {
        let wait = self.next;
        self.next = (wait * 2).min(LONGEST_WAIT);
        wait
    }

    /// Starts over after a success.
    pub const fn reset(&mut self) {
        self.next = FIRST_WAIT;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn waits_double_up_to_eight_seconds() {
        let mut backoff = RetryBackoff::new();
        let waits: Vec<u128> = (0..7).map(|_| backoff.wait().as_millis()).collect();
        assert_eq!(waits, [250, 500, 1_000, 2_000, 4_000, 8_000, 8_000]);
        backoff.reset();
        assert_eq!(backoff.wait(), FIRST_WAIT);
    }
}
