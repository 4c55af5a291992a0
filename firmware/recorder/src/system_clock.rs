//! Reads the board's own clock where a daemon keeps it synchronised: a source of time
//! besides the receiver. The kernel states whether it is, and its largest error.

use std::sync::mpsc::Sender;
use std::thread;
use std::time::Duration;

use chrono::{DateTime, SecondsFormat};
use jumpseat_core::journal::{JournalEvent, TimeSource, clip};
use jumpseat_kernel_clock::{KernelClockReading, read};

use crate::device_message::DeviceMessage;
use crate::error::RecorderError;
use crate::monotonic;
use crate::threads;

const READ_INTERVAL: Duration = Duration::from_secs(10);
/// A clock with a larger possible error than this is not worth recording.
const MAX_CLOCK_ERROR_US: u64 = 500_000;
/// A reading that took longer, because the board was busy, is repeated.
const MAX_READ_TIME_NS: u64 = 200_000;
const READ_ATTEMPTS: usize = 5;

/// Starts the thread that reads the clock.
///
/// # Errors
/// [`RecorderError::Device`] when the system starts no thread.
pub fn start(arrivals: &Sender<DeviceMessage>) -> Result<(), RecorderError> {
    let arrivals = arrivals.clone();
    let run = move || {
        loop {
            if let Some((event, at_ns)) = look() {
                let events = vec![event];
                if arrivals.send(DeviceMessage::Gps { events, at_ns }).is_err() {
                    return;
                }
            }
            thread::sleep(READ_INTERVAL);
        }
    };
    threads::spawn("clock", run)
}

/// One time record and the monotonic time it belongs to; `None` while no daemon keeps the
/// clock synchronised, or the kernel does not answer.
fn look() -> Option<(JournalEvent, u64)> {
    for _ in 0..READ_ATTEMPTS {
        let before_ns = monotonic::now_ns();
        let reading = read().ok()?;
        let took_ns = monotonic::now_ns().saturating_sub(before_ns);
        if took_ns <= MAX_READ_TIME_NS {
            return Some((event(&reading)?, before_ns + took_ns / 2));
        }
    }
    None
}

fn event(reading: &KernelClockReading) -> Option<JournalEvent> {
    if !reading.synchronised || reading.max_error_us > MAX_CLOCK_ERROR_US {
        return None;
    }
    // chrono represents a leap second as more than 10^9 nanoseconds of the second before.
    let leap = if reading.leaping { 1_000_000_000 } else { 0 };
    let utc = DateTime::from_timestamp(reading.seconds, reading.nanoseconds + leap)?;
    let within_us = reading.max_error_us + MAX_READ_TIME_NS / 1_000;
    Some(JournalEvent::TimeFix {
        utc: clip(&utc.to_rfc3339_opts(SecondsFormat::Micros, true)),
        source: TimeSource::System,
        valid: true,
        within_ms: Some(within_us as f32 / 1e3),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 2016-12-31 23:59:59 and a half.
    const READING: KernelClockReading = KernelClockReading {
        seconds: 1_483_228_799,
        nanoseconds: 500_000_000,
        synchronised: true,
        max_error_us: 2_300,
        leaping: false,
    };

    #[track_caller]
    fn check(reading: KernelClockReading, expected: Option<&str>) {
        let json = event(&reading).map(|event| serde_json::to_string(&event).unwrap());
        assert_eq!(json.as_deref(), expected);
    }

    #[test]
    fn a_clock_that_is_kept_right_is_written_down_with_its_bound() {
        check(
            READING,
            Some(
                r#"{"time_fix":{"utc":"2016-12-31T23:59:59.500000Z","source":"system","valid":true,"within_ms":2.5}}"#,
            ),
        );
    }

    #[test]
    fn the_leap_second_has_its_own_name() {
        let reading = KernelClockReading {
            leaping: true,
            ..READING
        };
        check(
            reading,
            Some(
                r#"{"time_fix":{"utc":"2016-12-31T23:59:60.500000Z","source":"system","valid":true,"within_ms":2.5}}"#,
            ),
        );
    }

    #[test]
    fn a_clock_that_nobody_keeps_says_nothing() {
        let nobody = KernelClockReading {
            synchronised: false,
            ..READING
        };
        check(nobody, None);
        let lost = KernelClockReading {
            max_error_us: MAX_CLOCK_ERROR_US + 1,
            ..READING
        };
        check(lost, None);
    }
}
