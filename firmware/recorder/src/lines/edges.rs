//! The edges of a pin from the kernel: each has the kernel's time, however late this thread
//! reads it.

use linux_embedded_hal::gpio_cdev::{
    Chip, EventRequestFlags, EventType, LineEventHandle, LineRequestFlags,
};
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::io::Errno;

use super::bias::bias;
use crate::config::{ActiveLevel, InputPinConfig};
use crate::device_message::{DeviceMessage, DeviceReporter};
use crate::error::RecorderError;
use crate::input_line::InputLine;
use crate::monotonic;

/// Without an edge the level itself is read this often: the kernel keeps only sixteen
/// edges, and a contact may bounce longer.
const LEVEL_CHECK_INTERVAL: Timespec = Timespec {
    tv_sec: 0,
    tv_nsec: 100_000_000,
};

const NO_WAIT: Timespec = Timespec {
    tv_sec: 0,
    tv_nsec: 0,
};

/// Kernels before 5.7 give the time of day instead of the monotonic time; a time further
/// from now than this is replaced.
const MAX_EDGE_AGE_NS: u64 = 10_000_000_000;

/// Asks the kernel for the edges of a pin.
///
/// # Errors
/// [`RecorderError::Device`] when there is no such chip or line, or it reports no
/// edges.
pub(super) fn open(config: &InputPinConfig) -> Result<LineEventHandle, RecorderError> {
    let open = || {
        Chip::new(&config.chip)?.get_line(config.line)?.events(
            LineRequestFlags::INPUT | bias(config.pull),
            EventRequestFlags::BOTH_EDGES,
            "jumpseat-recorder",
        )
    };
    open().map_err(|error| {
        RecorderError::Device(format!(
            "line {} of {} reports no edges: {error}",
            config.line,
            config.chip.display()
        ))
    })
}

/// Reports every change until the pin cannot be read.
pub(super) fn follow(
    line: InputLine,
    mut pin: LineEventHandle,
    active: ActiveLevel,
    reporter: &DeviceReporter,
) -> RecorderError {
    let lost = |error: &dyn std::fmt::Display| {
        RecorderError::Device(format!("{} cannot be read: {error}", line.name()))
    };
    let is_active = |high: bool| high == (active == ActiveLevel::High);
    let mut last = None;
    // The first round reads the level at the start.
    let mut edges = 0;
    loop {
        if edges > 0 {
            match pin.get_event() {
                Ok(event) => {
                    let level = is_active(event.event_type() == EventType::RisingEdge);
                    last = Some(level);
                    let at_ns = plausible_edge_ns(event.timestamp(), monotonic::now_ns());
                    report(line, level, at_ns, reporter);
                }
                Err(error) => return lost(&error),
            }
        } else {
            let level = match pin.get_value() {
                Ok(value) => is_active(value != 0),
                Err(error) => return lost(&error),
            };
            // An edge that arrived meanwhile has the exact time of the change.
            let edge_waits = match wait_for_edges(&pin, &NO_WAIT) {
                Ok(edges) => edges > 0,
                Err(error) => return lost(&error),
            };
            if last != Some(level) && !edge_waits {
                last = Some(level);
                report(line, level, monotonic::now_ns(), reporter);
            }
        }
        edges = match wait_for_edges(&pin, &LEVEL_CHECK_INTERVAL) {
            Ok(edges) => edges,
            Err(error) => return lost(&error),
        };
    }
}

/// Waits at most this long for edges; returns 0 when there are none.
fn wait_for_edges(pin: &LineEventHandle, time: &Timespec) -> Result<usize, Errno> {
    match poll(&mut [PollFd::new(pin, PollFlags::IN)], Some(time)) {
        Err(Errno::INTR) => Ok(0),
        result => result,
    }
}

fn report(line: InputLine, active: bool, at_ns: u64, reporter: &DeviceReporter) {
    reporter.send(DeviceMessage::Line {
        line,
        active,
        at_ns,
    });
}

/// The kernel's time if it can be monotonic, `now_ns` otherwise.
pub(super) const fn plausible_edge_ns(kernel_ns: u64, now_ns: u64) -> u64 {
    if kernel_ns <= now_ns && now_ns - kernel_ns < MAX_EDGE_AGE_NS {
        kernel_ns
    } else {
        now_ns
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_of_another_clock_is_not_believed() {
        const SECOND_NS: u64 = 1_000_000_000;
        let now_ns = 500 * SECOND_NS;
        assert_eq!(
            plausible_edge_ns(now_ns - 3_000_000, now_ns),
            now_ns - 3_000_000
        );
        // The time of day in 2026, as older kernels tell it.
        assert_eq!(plausible_edge_ns(1_778_770_931 * SECOND_NS, now_ns), now_ns);
        assert_eq!(plausible_edge_ns(now_ns - 11 * SECOND_NS, now_ns), now_ns);
    }
}
