//! The recorder: a daemon for Linux boards, thin edges around the core.
//!
//! Threads at the rim bring samples, line levels, sentences and dial settings
//! with the monotonic time at which they came; the [`engine`] in the middle
//! decides with `jumpseat_core` and writes the trip folder through
//! [`storage::Storage`]. [`simulate`] feeds the same engine from files.
#![forbid(unsafe_code)]

mod alarms;
pub mod card;
pub mod config;
pub mod engine;
pub mod error;
pub mod gps;
mod journal_file;
pub mod mono;
mod segment_file;
pub mod simulate;
pub mod storage;
pub mod trip;

pub use error::RecorderError;
