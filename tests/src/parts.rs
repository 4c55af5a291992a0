//! Real parts for live tests: an audio server, a pipe that ALSA reads, a rig-control
//! daemon, a satellite daemon, a pseudo-terminal, a line feed, a browser and the review
//! page. Each is started private to the test and stopped when it is dropped.

mod browser;
mod feed;
mod gpsd;
mod process;
mod pulse;
mod review;
mod rigctld;
mod serial;
mod sound_fifo;

use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

pub use browser::{BrowserTab, BrowserWindow, WebBrowser};
pub use feed::{LineFeed, make_fifo};
pub use gpsd::GpsdDaemon;
pub use process::{ProcessUsage, TestProcess};
pub use pulse::PulseServer;
pub use review::{ReviewProcess, demo_card, drafted_demo, drafted_from, pull_and_draft};
pub use rigctld::RigctldDaemon;
pub use serial::PseudoTerminal;
pub use sound_fifo::SoundFifo;

/// Why a part does not work.
#[derive(Debug, thiserror::Error)]
pub enum PartError {
    /// A program could not be started.
    #[error("cannot start {program}: {source}; tests/run installs what is missing")]
    Start {
        /// Its name.
        program: String,
        /// Why not.
        source: io::Error,
    },
    /// A program did not start, or ended.
    #[error("{program}: {detail}")]
    Failed {
        /// Its name.
        program: String,
        /// The details.
        detail: String,
    },
    /// A file, pipe or port could not be used.
    #[error("cannot use {}: {source}", path.display())]
    File {
        /// Which.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// A folder could not be copied.
    #[error(transparent)]
    Copy(#[from] jumpseat_files::FileError),
}

impl PartError {
    /// For `map_err`.
    pub fn file(path: &Path) -> impl FnOnce(io::Error) -> Self {
        let path = path.to_owned();
        move |source| Self::File { path, source }
    }

    pub(crate) fn failed(program: &str, detail: impl ToString) -> Self {
        Self::Failed {
            program: program.to_owned(),
            detail: detail.to_string(),
        }
    }
}

/// Waits until `holds` is true, for at most `limit`; returns whether it is.
pub fn wait_until(limit: Duration, mut holds: impl FnMut() -> bool) -> bool {
    let start = std::time::Instant::now();
    loop {
        if holds() {
            return true;
        }
        if start.elapsed() > limit {
            return false;
        }
        std::thread::sleep(Duration::from_millis(20));
    }
}

/// A free TCP port of this machine.
pub fn free_port() -> Result<u16, PartError> {
    let any = || std::net::TcpListener::bind("127.0.0.1:0")?.local_addr();
    any()
        .map(|address| address.port())
        .map_err(PartError::file(Path::new("127.0.0.1:0")))
}
