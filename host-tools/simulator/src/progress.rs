//! A line of progress on a terminal; nothing where there is none.

use std::io::{IsTerminal as _, Write as _};

/// Shows how far something is.
#[derive(Debug)]
pub struct DriveProgress {
    what: &'static str,
    shown: Option<u32>,
}

impl DriveProgress {
    /// Of this work.
    pub fn new(what: &'static str) -> Self {
        Self { what, shown: None }
    }

    /// So far, 0 to 1.
    pub fn at(&mut self, fraction: f64) {
        let percent = (fraction.clamp(0.0, 1.0) * 100.0) as u32;
        if self.shown == Some(percent) || !std::io::stderr().is_terminal() {
            return;
        }
        self.shown = Some(percent);
        let end = if percent == 100 { "\n" } else { "" };
        eprint!("\r{} {percent} %{end}", self.what);
        // A terminal that cannot be written to shows nothing; the work goes on.
        let _ = std::io::stderr().flush();
    }
}
