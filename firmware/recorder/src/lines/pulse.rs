//! Reads the receiver's pulse at every full second from a pin.

use std::thread;

use jumpseat_core::journal::JournalEvent;
use linux_embedded_hal::gpio_cdev::EventType;

use super::edges;
use crate::backoff::RetryBackoff;
use crate::config::{ActiveLevel, InputPinConfig};
use crate::device_message::{DeviceMessage, DeviceReporter};
use crate::error::RecorderError;
use crate::monotonic;
use crate::threads;

const SECOND_NS: u64 = 1_000_000_000;
/// How far the time between two pulses may be from a second, for the difference of the
/// clocks and the delay of interrupts: 0.5 ms.
const PULSE_TOLERANCE_NS: u64 = 500_000;
/// One pulse in this many is recorded, to keep the journal small.
const PULSES_PER_RECORD: u64 = 10;

/// Starts the thread that waits for pulses.
///
/// # Errors
/// [`RecorderError::Device`] when the system starts no thread.
pub(super) fn start(
    config: InputPinConfig,
    mut reporter: DeviceReporter,
) -> Result<(), RecorderError> {
    let run = move || {
        let mut backoff = RetryBackoff::new();
        loop {
            let error = follow(&config, &mut reporter, &mut backoff);
            reporter.report_failure(&error.to_string());
            thread::sleep(backoff.wait());
        }
    };
    threads::spawn("pulse", run)
}

fn follow(
    config: &InputPinConfig,
    reporter: &mut DeviceReporter,
    backoff: &mut RetryBackoff,
) -> RecorderError {
    let mut pin = match edges::open(config) {
        Ok(pin) => pin,
        Err(error) => return error,
    };
    backoff.reset();
    let wanted = match config.active {
        ActiveLevel::High => EventType::RisingEdge,
        ActiveLevel::Low => EventType::FallingEdge,
    };
    let mut beat = PulseFilter::default();
    loop {
        match pin.get_event() {
            Ok(event) if event.event_type() == wanted => {
                let at_ns = edges::plausible_edge_ns(event.timestamp(), monotonic::now_ns());
                if beat.edge(at_ns) {
                    reporter.report_working("the receiver's pulse comes every second");
                    let events = vec![JournalEvent::Pulse {}];
                    reporter.send(DeviceMessage::Gps { events, at_ns });
                }
            }
            Ok(_) => {}
            Err(error) => {
                return RecorderError::Device(format!("the pulse cannot be read: {error}"));
            }
        }
    }
}

/// Selects the edges that are recorded as pulses.
#[derive(Debug, Default)]
struct PulseFilter {
    last_ns: Option<u64>,
    /// Pulses in a row.
    row: u64,
}

impl PulseFilter {
    /// Takes an edge that begins a pulse. True for the first and then every tenth of those
    /// that follow the one before by a second.
    fn edge(&mut self, at_ns: u64) -> bool {
        let since_ns = self.last_ns.map(|last| at_ns.saturating_sub(last));
        self.last_ns = Some(at_ns);
        let steady = since_ns.is_some_and(|since| since.abs_diff(SECOND_NS) <= PULSE_TOLERANCE_NS);
        self.row = if steady { self.row + 1 } else { 0 };
        steady && self.row % PULSES_PER_RECORD == 1
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Milliseconds of edges, and of those that are recorded.
    #[track_caller]
    fn check(edges: impl IntoIterator<Item = u64>, expected: &[u64]) {
        let mut beat = PulseFilter::default();
        let told: Vec<u64> = edges
            .into_iter()
            .filter(|edge| beat.edge(edge * 1_000_000))
            .collect();
        assert_eq!(told, expected);
    }

    #[test]
    fn one_pulse_in_ten_is_written_down_and_a_loose_wire_never() {
        check(
            (0..25).map(|second| second * 1_000 + 7),
            &[1_007, 11_007, 21_007],
        );
        check([7, 300, 1_290, 2_007, 2_100, 3_050], &[]);
        // A missed pulse restarts the count.
        check([7, 1_007, 2_007, 4_007, 5_007, 6_007], &[1_007, 5_007]);
    }
}
