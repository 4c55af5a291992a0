//! Decides when a state sounds: once when it begins, then again at the interval in the
//! signal table.

use crate::signal::{OperatorSignal, PATTERNS};

const SECOND_NS: u64 = 1_000_000_000;

/// Tracks the current states and when each is next due to sound.
#[derive(Debug, Clone, Default)]
pub struct SignalAnnouncer {
    due_ns: [Option<u64>; PATTERNS.len()],
}

impl SignalAnnouncer {
    /// Starts without any state.
    pub const fn new() -> Self {
        Self {
            due_ns: [None; PATTERNS.len()],
        }
    }

    /// Sets the current states and calls `sound` for each one that is due, most urgent
    /// first. Returns when the next one is due.
    pub fn update(
        &mut self,
        states: &[OperatorSignal],
        now_ns: u64,
        mut sound: impl FnMut(OperatorSignal),
    ) -> Option<u64> {
        for (pattern, due_ns) in PATTERNS.iter().zip(&mut self.due_ns) {
            if !states.contains(&pattern.signal) {
                *due_ns = None;
            } else if due_ns.is_none_or(|due_ns| now_ns >= due_ns) {
                sound(pattern.signal);
                let again = pattern
                    .repeat_s
                    .map(|repeat_s| now_ns + u64::from(repeat_s) * SECOND_NS);
                *due_ns = Some(again.unwrap_or(u64::MAX));
            }
        }
        self.due_ns
            .iter()
            .flatten()
            .copied()
            .filter(|&due_ns| due_ns < u64::MAX)
            .min()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_trouble_sounds_again_and_recording_only_when_it_begins() {
        let mut announcer = SignalAnnouncer::new();
        let mut heard = heapless::Vec::<(u64, OperatorSignal), 16>::new();
        for second in 0..50 {
            let states: &[OperatorSignal] = match second {
                0..5 => &[OperatorSignal::Recording],
                5..45 => &[OperatorSignal::NoSound],
                _ => &[OperatorSignal::Recording],
            };
            announcer.update(states, second * SECOND_NS, |signal| {
                heard.push((second, signal)).unwrap();
            });
        }
        let expected = [
            (0, OperatorSignal::Recording),
            (5, OperatorSignal::NoSound),
            (25, OperatorSignal::NoSound),
            (45, OperatorSignal::Recording),
        ];
        assert_eq!(heard, expected);
    }

    #[test]
    fn it_tells_when_to_ask_again() {
        let mut announcer = SignalAnnouncer::new();
        let both = [OperatorSignal::NoTime, OperatorSignal::NoSound];
        let due = announcer.update(&both, 7, |_| {});
        assert_eq!(due, Some(7 + 20 * SECOND_NS));
        assert_eq!(
            announcer.update(&[OperatorSignal::Recording], 8, |_| {}),
            None
        );
    }
}
