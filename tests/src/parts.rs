//! Real parts for live tests: an audio server, a pipe that ALSA reads, a rig-control
//! daemon, a satellite daemon, a pseudo-terminal, a line feed, a browser and the review
//! page. Each is started private to the test and stopped when it is dropped.

mod browser;
mod feed;
mod gpsd;
mod pulse;
mod review;
mod rigctld;
mod serial;
mod sound_fifo;

pub use browser::{BrowserTab, BrowserWindow, WebBrowser};
pub use feed::{LineFeed, make_fifo};
pub use gpsd::GpsdDaemon;
pub use pulse::PulseServer;
pub use review::{ReviewProcess, drafted_demo, drafted_from, pull_and_draft};
pub use rigctld::RigctldDaemon;
pub use serial::PseudoTerminal;
pub use sound_fifo::SoundFifo;
