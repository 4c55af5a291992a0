//! Ctrl-C while files are written: what is half written goes, and the command ends as
//! any other program does.

/// From here on a Ctrl-C, or another request to end, first removes what is half written.
/// Where that cannot be set up, the next export removes what was left.
#[cfg(unix)]
pub(crate) fn tidy_up() {
    use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
    use signal_hook::iterator::Signals;
    let Ok(mut signals) = Signals::new([SIGHUP, SIGINT, SIGTERM]) else {
        return;
    };
    std::thread::spawn(move || {
        for signal in signals.forever() {
            jumpseat_files::abandon_unfinished();
            // Ends the process, as the signal does without us.
            if signal_hook::low_level::emulate_default_handler(signal).is_err() {
                std::process::exit(1);
            }
        }
    });
}

/// What is left half written by a Ctrl-C is removed by the next export.
#[cfg(not(unix))]
pub(crate) fn tidy_up() {}
