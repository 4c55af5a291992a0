//! Waiting for a condition, and ports to listen on.

use std::net::TcpListener;
use std::path::Path;
use std::thread;
use std::time::{Duration, Instant};

use crate::PartError;

/// How often a condition is asked.
const POLL_INTERVAL: Duration = Duration::from_millis(20);

/// Waits until `holds` is true, for at most `limit`; returns whether it is.
pub fn wait_until(limit: Duration, mut holds: impl FnMut() -> bool) -> bool {
    let start = Instant::now();
    loop {
        if holds() {
            return true;
        }
        if start.elapsed() > limit {
            return false;
        }
        thread::sleep(POLL_INTERVAL);
    }
}

/// A free TCP port of this machine.
///
/// # Errors
/// When none can be bound.
pub fn free_port() -> Result<u16, PartError> {
    let any = || TcpListener::bind("127.0.0.1:0")?.local_addr();
    any()
        .map(|address| address.port())
        .map_err(PartError::file(Path::new("127.0.0.1:0")))
}
