//! Removes unfinished files at Ctrl-C, before the command ends as any other program does.

/// From now on Ctrl-C, or another request to end, removes unfinished files first. If that
/// cannot be set up, the next export removes them.
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
            // Ends the process as the signal would without us.
            if signal_hook::low_level::emulate_default_handler(signal).is_err() {
                std::process::exit(1);
            }
        }
    });
}

/// Does nothing: the next export removes unfinished files.
#[cfg(not(unix))]
pub(crate) fn tidy_up() {}
