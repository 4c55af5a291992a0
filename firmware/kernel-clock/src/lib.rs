//! Reads the kernel's clock and its state with adjtimex(2).
//!
//! The only unsafe code of the project outside tests: no safe crate reads this state. It
//! sets nothing, so it needs no privilege.

use std::io;
use std::mem;

/// The kernel's clock at one instant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct KernelClockReading {
    /// Seconds of Unix time.
    pub seconds: i64,
    /// Nanoseconds within that second, 0 to 999,999,999.
    pub nanoseconds: u32,
    /// A daemon (chrony, ntpd, systemd-timesyncd) keeps it synchronised.
    pub synchronised: bool,
    /// Upper bound on its error by that daemon's account, in microseconds. Grows while the
    /// daemon sends no update.
    pub max_error_us: u64,
    /// A leap second is being inserted: this second is 23:59:60.
    pub leaping: bool,
}

/// Reads the clock and its state.
///
/// # Errors
/// The system's reason; a sandbox may forbid the call.
pub fn read() -> io::Result<KernelClockReading> {
    // SAFETY: timex is a C struct of integers alone, for which all zeros are valid;
    // `modes` 0 means that nothing is set.
    let mut timex: libc::timex = unsafe { mem::zeroed() };
    // SAFETY: the pointer is to a live, exclusive timex of the system's own layout.
    let state = unsafe { libc::adjtimex(&mut timex) };
    if state < 0 {
        return Err(io::Error::last_os_error());
    }
    let fine = timex.status & libc::STA_NANO != 0;
    let part = timex.time.tv_usec * if fine { 1 } else { 1_000 };
    Ok(KernelClockReading {
        seconds: timex.time.tv_sec,
        nanoseconds: u32::try_from(part).unwrap_or(0),
        synchronised: state != libc::TIME_ERROR && timex.status & libc::STA_UNSYNC == 0,
        max_error_us: u64::try_from(timex.maxerror).unwrap_or(u64::MAX),
        leaping: state == libc::TIME_OOP,
    })
}

#[cfg(test)]
mod tests {
    use std::time::{SystemTime, UNIX_EPOCH};

    use super::*;

    #[test]
    fn it_is_the_clock_that_everybody_reads() {
        let before = SystemTime::now().duration_since(UNIX_EPOCH).unwrap();
        let read = read().unwrap();
        let after = SystemTime::now().duration_since(UNIX_EPOCH).unwrap();
        let nanos = i128::from(read.seconds) * 1_000_000_000 + i128::from(read.nanoseconds);
        assert!(
            (before.as_nanos() as i128 - 1_000..=after.as_nanos() as i128 + 1_000).contains(&nanos)
        );
    }
}
