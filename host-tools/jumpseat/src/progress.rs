//! Shows the progress of long work, on a terminal only.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::IsTerminal as _;

use crate::print;

/// Says on a terminal what the command is waiting for, when its progress is unknown.
pub(crate) fn waiting(what: &str) {
    if std::io::stderr().is_terminal() {
        print::aside(&format!("{what} ..."));
    }
}

/// A line on standard error that shows how far the work is.
pub(crate) struct ProgressLine(ProgressBar);

impl ProgressLine {
    /// A line for `total` steps; `bytes` says that the steps are bytes.
    pub(crate) fn new(what: &str, total: u64, bytes: bool) -> Self {
        let bar = ProgressBar::new(total);
        bar.set_draw_target(if std::io::stderr().is_terminal() {
            ProgressDrawTarget::stderr()
        } else {
            ProgressDrawTarget::hidden()
        });
        let form = if bytes {
            "{msg} {wide_bar} {bytes}/{total_bytes} {bytes_per_sec} {eta}"
        } else {
            "{msg} {wide_bar} {percent}% {eta}"
        };
        if let Ok(style) = ProgressStyle::with_template(form) {
            bar.set_style(style);
        }
        bar.set_message(print::visible(what).into_owned());
        Self(bar)
    }

    /// Hides the line while something else is printed.
    pub(crate) fn suspend<T>(&self, print: impl FnOnce() -> T) -> T {
        self.0.suspend(print)
    }

    /// Counts that many more steps as done.
    pub(crate) fn add(&self, steps: u64) {
        self.0.inc(steps);
    }
}

impl Drop for ProgressLine {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}
