//! Debounces a line: a mechanical contact turns one press into a burst of edges over some
//! milliseconds.
//!
//! A change counts once the line has stayed at its new level for the settling time. Its
//! time is that of the first edge of the burst, when the operator's thumb moved.

use embedded_hal::digital::InputPin;

/// A settled change of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SettledEdge {
    /// The line is now active (keyed, pressed).
    pub active: bool,
    /// Monotonic time of the first edge of the burst, in nanoseconds.
    pub at_ns: u64,
}

/// Which level means active.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PinPolarity {
    /// High is active.
    ActiveHigh,
    /// Low is active: a switch to ground with a pull-up.
    ActiveLow,
}

/// Turns readings of one line into settled edges.
#[derive(Debug, Clone)]
pub struct Debouncer {
    settle_ns: u64,
    settled: bool,
    latest: bool,
    latest_since_ns: u64,
    burst_since_ns: Option<u64>,
}

impl Debouncer {
    /// A line that starts in the state `active`; `settle_ns` is how long a
    /// level must last to count (5 to 30 ms is common practice for switches).
    pub const fn new(settle_ns: u64, active: bool) -> Self {
        Self {
            settle_ns,
            settled: active,
            latest: active,
            latest_since_ns: 0,
            burst_since_ns: None,
        }
    }

    /// Takes one reading: the level of the line from `now_ns` on. Readings come in order of
    /// time. Returns at most one edge.
    pub fn update(&mut self, active: bool, now_ns: u64) -> Option<SettledEdge> {
        let edge = self.settle(now_ns);
        if active != self.latest {
            self.latest = active;
            self.latest_since_ns = now_ns;
            self.burst_since_ns.get_or_insert(now_ns);
        }
        // With a settling time of zero the change counts at once.
        edge.or_else(|| self.settle(now_ns))
    }

    /// When to take a reading even if the level does not change, so that a change is
    /// reported as soon as it has settled. `None` while nothing is settling.
    pub const fn deadline_ns(&self) -> Option<u64> {
        match self.burst_since_ns {
            Some(_) => Some(self.latest_since_ns.saturating_add(self.settle_ns)),
            None => None,
        }
    }

    /// The settled state.
    pub const fn is_active(&self) -> bool {
        self.settled
    }

    fn settle(&mut self, now_ns: u64) -> Option<SettledEdge> {
        let at_ns = self.burst_since_ns?;
        if now_ns.saturating_sub(self.latest_since_ns) < self.settle_ns {
            return None;
        }
        self.burst_since_ns = None;
        if self.latest == self.settled {
            return None;
        }
        self.settled = self.latest;
        Some(SettledEdge {
            active: self.settled,
            at_ns,
        })
    }
}

/// A debouncer on an `embedded-hal` pin.
#[derive(Debug)]
pub struct DebouncedPin<P> {
    pin: P,
    polarity: PinPolarity,
    debouncer: Debouncer,
}

impl<P: InputPin> DebouncedPin<P> {
    /// Reads the pin once for its starting state.
    ///
    /// # Errors
    /// The pin's own error when it cannot be read.
    pub fn new(mut pin: P, polarity: PinPolarity, settle_ns: u64) -> Result<Self, P::Error> {
        let active = read(&mut pin, polarity)?;
        Ok(Self {
            pin,
            polarity,
            debouncer: Debouncer::new(settle_ns, active),
        })
    }

    /// The pin itself, for a pin whose level the caller sets.
    pub const fn pin_mut(&mut self) -> &mut P {
        &mut self.pin
    }

    /// Reads the pin as of `now_ns` (monotonic nanoseconds).
    ///
    /// # Errors
    /// The pin's own error when it cannot be read.
    pub fn poll(&mut self, now_ns: u64) -> Result<Option<SettledEdge>, P::Error> {
        let active = read(&mut self.pin, self.polarity)?;
        Ok(self.debouncer.update(active, now_ns))
    }

    /// See [`Debouncer::deadline_ns`].
    pub const fn deadline_ns(&self) -> Option<u64> {
        self.debouncer.deadline_ns()
    }

    /// The settled state.
    pub const fn is_active(&self) -> bool {
        self.debouncer.is_active()
    }
}

fn read<P: InputPin>(pin: &mut P, polarity: PinPolarity) -> Result<bool, P::Error> {
    match polarity {
        PinPolarity::ActiveHigh => pin.is_high(),
        PinPolarity::ActiveLow => pin.is_low(),
    }
}

#[cfg(test)]
mod tests {
    extern crate std;

    use proptest::prelude::*;

    use super::*;

    const MS: u64 = 1_000_000;

    #[test]
    fn no_settling_time_means_at_once() {
        let mut line = Debouncer::new(0, false);
        let edge = line.update(true, 5);
        assert_eq!(
            edge,
            Some(SettledEdge {
                active: true,
                at_ns: 5
            })
        );
        assert_eq!(line.deadline_ns(), None);
    }

    proptest! {
        #[test]
        fn edges_alternate_and_time_never_runs_back(
            steps in prop::collection::vec((any::<bool>(), 0_u64..40), 1..200)
        ) {
            let mut line = Debouncer::new(8 * MS, false);
            let mut now = 0;
            let mut last = SettledEdge { active: false, at_ns: 0 };
            for (active, wait) in steps {
                now += wait * MS;
                if let Some(edge) = line.update(active, now) {
                    prop_assert_ne!(edge.active, last.active);
                    prop_assert!(edge.at_ns >= last.at_ns && edge.at_ns <= now);
                    last = edge;
                }
            }
            // Left alone, the line settles at what it was last.
            let resting = line.latest;
            line.update(resting, now + 8 * MS);
            prop_assert_eq!(line.is_active(), resting);
        }
    }
}
