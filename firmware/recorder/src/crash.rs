//! Ends the process on a panic in any thread: the service manager then starts the recorder
//! again, into a new trip. A recorder without one of its threads would look alive and lose
//! what that thread records.

use std::io::Write as _;
use std::panic;
use std::process;

/// Makes every later panic end the process at once.
pub fn end_on_panic() {
    panic::set_hook(Box::new(|info| {
        // A broken log must not keep the process alive.
        let _unheard = writeln!(std::io::stderr(), "jumpseat-recorder: {info}");
        process::abort();
    }));
}
