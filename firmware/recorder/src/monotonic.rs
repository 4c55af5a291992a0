//! The monotonic clock, which never steps.

use rustix::time::{ClockId, clock_gettime};

/// `CLOCK_MONOTONIC` in nanoseconds. Neither allocates nor locks, so that the audio
/// callback may call it.
pub fn now_ns() -> u64 {
    let now = clock_gettime(ClockId::Monotonic);
    // The monotonic clock starts near zero at power-up and is never negative.
    (now.tv_sec as u64)
        .saturating_mul(1_000_000_000)
        .saturating_add(now.tv_nsec as u64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_goes_forward() {
        let before = now_ns();
        std::thread::sleep(std::time::Duration::from_millis(2));
        assert!(now_ns() >= before + 2_000_000);
    }
}
