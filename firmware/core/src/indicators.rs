//! Drives the lamp and the sounder from the table in [`crate::signal`].

use embedded_hal::digital::OutputPin;
use heapless::Deque;

use crate::signal::{OperatorSignal, PATTERNS, SignalBeat};

const MS: u64 = 1_000_000;
/// Pause between two signals, so that they are not heard as one.
const SIGNAL_PAUSE_NS: u64 = 600 * MS;

/// Plays signals on a sounder: one at a time, acknowledgements first.
#[derive(Debug)]
pub struct SounderDriver<P> {
    pin: P,
    queue: Deque<OperatorSignal, { PATTERNS.len() }>,
    playing: Option<PlayingPattern>,
    quiet_until_ns: u64,
    on: bool,
}

#[derive(Debug, Clone, Copy)]
struct PlayingPattern {
    beats: &'static [SignalBeat],
    since_ns: u64,
}

impl<P: OutputPin> SounderDriver<P> {
    /// A silent sounder.
    pub const fn new(pin: P) -> Self {
        Self {
            pin,
            queue: Deque::new(),
            playing: None,
            quiet_until_ns: 0,
            on: false,
        }
    }

    /// Requests a signal. The answer to a press interrupts whatever is sounding; the others
    /// wait their turn, each at most once.
    pub fn request(&mut self, signal: OperatorSignal, now_ns: u64) {
        if signal.is_answer() {
            self.playing = Some(PlayingPattern {
                beats: signal.pattern().sound,
                since_ns: now_ns,
            });
        } else if !self.queue.iter().any(|&waiting| waiting == signal) {
            // It fits: there are nine signals, and each waits at most once.
            let _full = self.queue.push_back(signal);
        }
    }

    /// Sets the pin for this instant. Returns the time of the next change, if there is one.
    ///
    /// # Errors
    /// The pin's own error when it cannot be driven.
    pub fn poll(&mut self, now_ns: u64) -> Result<Option<u64>, P::Error> {
        if let Some(playing) = self.playing {
            if let Some((on, until_ns)) = at(playing, now_ns) {
                self.set(on)?;
                return Ok(Some(until_ns));
            }
            self.playing = None;
            self.quiet_until_ns = now_ns.saturating_add(SIGNAL_PAUSE_NS);
        }
        self.set(false)?;
        if self.queue.is_empty() {
            return Ok(None);
        }
        if now_ns < self.quiet_until_ns {
            return Ok(Some(self.quiet_until_ns));
        }
        let Some(signal) = self.queue.pop_front() else {
            return Ok(None);
        };
        let playing = PlayingPattern {
            beats: signal.pattern().sound,
            since_ns: now_ns,
        };
        self.playing = Some(playing);
        let next = at(playing, now_ns);
        self.set(next.is_some_and(|(on, _)| on))?;
        Ok(next.map(|(_, until_ns)| until_ns))
    }

    /// Silences the sounder and drops the signals that wait.
    ///
    /// # Errors
    /// The pin's own error when it cannot be driven.
    pub fn stop(&mut self) -> Result<(), P::Error> {
        self.playing = None;
        self.queue.clear();
        self.set(false)
    }

    fn set(&mut self, on: bool) -> Result<(), P::Error> {
        if on == self.on {
            return Ok(());
        }
        self.on = on;
        if on {
            self.pin.set_high()
        } else {
            self.pin.set_low()
        }
    }
}

/// Whether the tone is on, and until when; `None` after the last beat.
fn at(playing: PlayingPattern, now_ns: u64) -> Option<(bool, u64)> {
    let mut edge_ns = playing.since_ns;
    for beat in playing.beats {
        for (on, length_ms) in [(true, beat.on_ms), (false, beat.off_ms)] {
            edge_ns += u64::from(length_ms) * MS;
            if now_ns < edge_ns {
                return Some((on, edge_ns));
            }
        }
    }
    None
}

/// Shows the most urgent current state on a lamp.
#[derive(Debug)]
pub struct LampDriver<P> {
    pin: P,
    shown: Option<PlayingPattern>,
    on: bool,
}

impl<P: OutputPin> LampDriver<P> {
    /// A lamp that is off.
    pub const fn new(pin: P) -> Self {
        Self {
            pin,
            shown: None,
            on: false,
        }
    }

    /// Sets the current states; the lamp shows the one that comes first in the table.
    pub fn show(&mut self, states: &[OperatorSignal], now_ns: u64) {
        let pattern = PATTERNS
            .iter()
            .find(|p| !p.light.is_empty() && states.contains(&p.signal));
        let beats = pattern.map(|p| p.light);
        if beats != self.shown.map(|shown| shown.beats) {
            self.shown = beats.map(|beats| PlayingPattern {
                beats,
                since_ns: now_ns,
            });
        }
    }

    /// Sets the pin for this instant. Returns the time of the next change.
    ///
    /// # Errors
    /// The pin's own error when it cannot be driven.
    pub fn poll(&mut self, now_ns: u64) -> Result<Option<u64>, P::Error> {
        let Some(mut playing) = self.shown else {
            self.set(false)?;
            return Ok(None);
        };
        if at(playing, now_ns).is_none() {
            playing.since_ns = now_ns;
            self.shown = Some(playing);
        }
        let now = at(playing, now_ns);
        self.set(now.is_some_and(|(on, _)| on))?;
        Ok(now.map(|(_, until_ns)| until_ns))
    }

    fn set(&mut self, on: bool) -> Result<(), P::Error> {
        if on == self.on {
            return Ok(());
        }
        self.on = on;
        if on {
            self.pin.set_high()
        } else {
            self.pin.set_low()
        }
    }
}

#[cfg(test)]
mod tests {
    extern crate std;

    use core::cell::Cell;
    use core::convert::Infallible;
    use std::string::String;

    use super::*;

    /// A pin that remembers its level.
    struct RememberingPin<'a>(&'a Cell<bool>);

    impl embedded_hal::digital::ErrorType for RememberingPin<'_> {
        type Error = Infallible;
    }

    impl OutputPin for RememberingPin<'_> {
        fn set_low(&mut self) -> Result<(), Infallible> {
            self.0.set(false);
            Ok(())
        }
        fn set_high(&mut self) -> Result<(), Infallible> {
            self.0.set(true);
            Ok(())
        }
    }

    /// Plays requests (ms, signal) in steps of 10 ms and writes what an ear hears: one
    /// character for each tone, a space for a long pause.
    #[track_caller]
    fn check(requests: &[(u64, OperatorSignal)], heard: &str) {
        let wire = Cell::new(false);
        let mut sounder = SounderDriver::new(RememberingPin(&wire));
        let mut text = String::new();
        let (mut on, mut since) = (false, 0);
        for ms in (0..6_000).step_by(10) {
            for &(_, signal) in requests.iter().filter(|&&(at, _)| at == ms) {
                sounder.request(signal, ms * MS);
            }
            sounder.poll(ms * MS).unwrap();
            if wire.get() != on {
                match (on, ms - since) {
                    (true, 0..200) => text.push('.'),
                    (true, _) => text.push('-'),
                    (false, 500..) if !text.is_empty() => text.push(' '),
                    (false, _) => {}
                }
                (on, since) = (wire.get(), ms);
            }
        }
        assert!(!on, "the sounder stays on");
        assert_eq!(text, heard);
    }

    #[test]
    fn signals_sound_as_the_table_says_and_one_after_the_other() {
        check(&[(0, OperatorSignal::MarkAcknowledged)], ".");
        check(&[(0, OperatorSignal::MarkWithdrawn)], "-.");
        check(&[(0, OperatorSignal::NoSound)], "...");
        check(
            &[(0, OperatorSignal::Recording), (0, OperatorSignal::NoTime)],
            ".-. --",
        );
        check(
            &[(0, OperatorSignal::NoSound), (50, OperatorSignal::NoSound)],
            "... ...",
        );
        check(
            &[
                (0, OperatorSignal::NoTime),
                (0, OperatorSignal::NoSound),
                (0, OperatorSignal::NoSound),
            ],
            "-- ...",
        );
    }

    #[test]
    fn an_acknowledgement_comes_at_once_whatever_sounds() {
        let wire = Cell::new(false);
        let mut sounder = SounderDriver::new(RememberingPin(&wire));
        sounder.request(OperatorSignal::NoTime, 0);
        sounder.poll(0).unwrap();
        sounder.poll(450 * MS).unwrap();
        assert!(!wire.get(), "the pause between two long tones");
        sounder.request(OperatorSignal::MarkAcknowledged, 460 * MS);
        assert_eq!(sounder.poll(460 * MS), Ok(Some(550 * MS)));
        assert!(wire.get());
    }

    #[test]
    fn the_lamp_shows_the_most_urgent_state() {
        let wire = Cell::new(false);
        let mut lamp = LampDriver::new(RememberingPin(&wire));
        lamp.show(&[OperatorSignal::Recording], 0);
        assert_eq!(lamp.poll(0), Ok(Some(1_000 * MS)));
        assert!(wire.get());
        lamp.show(
            &[OperatorSignal::Recording, OperatorSignal::NoSound],
            10 * MS,
        );
        assert_eq!(lamp.poll(110 * MS), Ok(Some(210 * MS)));
        assert!(!wire.get());
        lamp.show(&[], 120 * MS);
        assert_eq!(lamp.poll(120 * MS), Ok(None));
    }
}
