//! Maps sample counts to monotonic time.
//!
//! Samples arrive in blocks, and a block can only be late, never early. So of all
//! observations "by this time so many samples had arrived", the one with the least delay is
//! nearest to the truth. A new search begins every ten seconds, because the sound card's
//! clock drifts (±100 ppm is 1 ms in 10 s).

use crate::SAMPLE_NS;

/// At `mono_ns`, `sample` samples had arrived.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ClockPair {
    /// Monotonic nanoseconds.
    pub mono_ns: u64,
    /// Sample count at 16 kHz since the start of the trip.
    pub sample: u64,
}

impl ClockPair {
    /// When sample 0 was taken, at the nominal rate; may be before the clock's own zero.
    const fn origin_ns(self) -> i64 {
        self.mono_ns as i64 - (self.sample * SAMPLE_NS) as i64
    }
}

/// The first pair is due after this time, so that even the shortest trip has one.
const FIRST_PAIR_AFTER_NS: u64 = 500_000_000;
/// Interval between the later pairs.
const PAIR_EVERY_NS: u64 = 10_000_000_000;

/// Maps time to samples, and chooses the pairs to record.
#[derive(Debug, Clone, Default)]
pub struct ArrivalClock {
    previous: Option<ClockPair>,
    best: Option<ClockPair>,
    window_ends_ns: u64,
}

impl ArrivalClock {
    /// A clock without observations.
    pub const fn new() -> Self {
        Self {
            previous: None,
            best: None,
            window_ends_ns: 0,
        }
    }

    /// Takes the observation that comes with a block. When a pair is due for the journal,
    /// returns the best one since the last.
    pub fn observe(&mut self, pair: ClockPair) -> Option<ClockPair> {
        let Some(best) = self.best else {
            self.window_ends_ns = match self.previous {
                Some(_) => pair.mono_ns.saturating_add(PAIR_EVERY_NS),
                None => pair.mono_ns.saturating_add(FIRST_PAIR_AFTER_NS),
            };
            self.best = Some(pair);
            return None;
        };
        let best = if pair.origin_ns() < best.origin_ns() {
            pair
        } else {
            best
        };
        self.best = Some(best);
        if pair.mono_ns < self.window_ends_ns {
            return None;
        }
        self.previous = Some(best);
        self.best = None;
        Some(best)
    }

    /// The best pair that was not returned yet, for the end of a trip.
    pub const fn pending(&self) -> Option<ClockPair> {
        self.best
    }

    /// Starts over after samples were lost and their number was only estimated; uses this
    /// pair until the next observation.
    pub fn restart(&mut self, resumed: ClockPair) {
        self.previous = None;
        self.best = Some(resumed);
        self.window_ends_ns = resumed.mono_ns.saturating_add(FIRST_PAIR_AFTER_NS);
    }

    /// The sample that was taken at `mono_ns`; `None` before the first block.
    pub fn sample_at(&self, mono_ns: u64) -> Option<u64> {
        let origin = self.origin_ns()?;
        let since = (mono_ns as i64).saturating_sub(origin).max(0);
        Some(since as u64 / SAMPLE_NS)
    }

    /// When this sample was taken, or will be; `None` before the first block.
    pub fn mono_at(&self, sample: u64) -> Option<u64> {
        let since = (sample.saturating_mul(SAMPLE_NS)) as i64;
        Some(self.origin_ns()?.saturating_add(since).max(0) as u64)
    }

    fn origin_ns(&self) -> Option<i64> {
        match (self.previous, self.best) {
            (Some(one), Some(two)) => Some(one.origin_ns().min(two.origin_ns())),
            (one, two) => one.or(two).map(ClockPair::origin_ns),
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const MS: u64 = 1_000_000;

    #[test]
    fn pairs_are_due_in_the_first_second_and_then_every_ten() {
        let mut clock = ArrivalClock::new();
        let mut due = heapless::Vec::<u64, 8>::new();
        for block in 1..=1_600_u64 {
            let pair = ClockPair {
                mono_ns: 5_000 * MS + block * 20 * MS,
                sample: block * 320,
            };
            if clock.observe(pair).is_some() {
                due.push(block * 20).unwrap();
            }
        }
        assert_eq!(due, [520, 10_540, 20_560, 30_580]);
    }

    #[test]
    fn nothing_is_known_before_the_first_block() {
        assert_eq!(ArrivalClock::new().sample_at(1), None);
    }

    proptest! {
        /// Blocks of 20 ms that come 0 to 60 ms late, from a card that is off by
        /// up to 100 ppm: the mapping stays within 25 ms of the truth, once
        /// enough blocks were seen for one of them to be on time.
        #[test]
        fn late_blocks_and_drift_do_not_move_the_mapping_far(
            late in prop::collection::vec(0_u64..60, 3_000),
            ppm in -100_i64..=100,
        ) {
            let mut clock = ArrivalClock::new();
            let start = 77_000 * MS;
            for (block, late) in (1_u64..).zip(late) {
                let true_ns = start + block * 20 * MS;
                let samples = block as i64 * 320 + block as i64 * 320 * ppm / 1_000_000;
                clock.observe(ClockPair { mono_ns: true_ns + late * MS, sample: samples as u64 });
                if block > 50 {
                    let told = clock.sample_at(true_ns).unwrap() as i64;
                    prop_assert!((told - samples).abs() <= 16 * 25, "{told} {samples}");
                }
            }
        }
    }
}
