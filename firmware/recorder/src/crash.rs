//! A panic ends the process, whichever thread it is in: the supervisor starts the
//! recorder again, into a new trip. A recorder without one of its threads would
//! look alive and lose what that thread was there for.

use std::io::Write as _;
use std::panic;
use std::process;

/// From now on a panic ends the process at once.
pub fn end_on_panic() {
    panic::set_hook(Box::new(|info| {
        // A broken log must not keep it alive.
        let _unheard = writeln!(std::io::stderr(), "jumpseat-recorder: {info}");
        process::abort();
    }));
}
