//! The recorder: a daemon for Linux boards, a thin shell around the core.
//!
//! One thread per device brings samples, line levels, sentences and dial settings with the
//! monotonic time of their arrival; the [`engine`] in the middle decides with
//! `jumpseat_core` and writes the trip folder through [`storage::CardStorage`].
//! [`simulate`] feeds the same engine from files.
#![forbid(unsafe_code)]

mod alarms;
mod audio_files;
pub mod backoff;
pub mod board_identity;
pub mod card_layout;
pub mod card_space;
pub mod check;
pub mod config;
pub mod crash;
pub mod device_message;
pub mod dial;
pub mod engine;
pub mod error;
pub mod gps;
pub mod input_line;
mod journal_file;
mod line_pin;
pub mod lines;
pub mod monotonic;
pub mod rig_reading;
pub mod run;
mod segment_file;
pub mod service_notifier;
mod sha256;
pub mod signals;
pub mod simulate;
pub mod sound;
pub mod storage;
pub mod system_clock;
mod tcp;
mod threads;
pub mod trip;
pub mod trip_header;
mod trip_number;

pub use error::RecorderError;
