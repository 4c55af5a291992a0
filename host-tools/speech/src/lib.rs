//! Sound to tokens: front end, acoustic model, decoder.
//!
//! `Ear::hear` takes the samples of a recording and gives a `Hearing`: words with
//! times and probabilities, call signs with alternatives, reports, names, numbers.
//! Nothing here knows of contacts or of files.

pub mod acoustic;
pub mod activity;
mod calibration;
mod ctc;
mod ear;
mod error;
#[cfg(test)]
mod every;
mod fold;
mod grammar;
mod hearing;
mod lattice;
mod listener;
pub mod mel;
mod read;
mod repeat;
pub mod resample;
#[cfg(feature = "rten")]
mod runtime;
mod said;
mod shape;
mod signs;
pub mod stretch;
mod views;
pub mod vocabulary;
mod words;

pub use ear::{Ear, Scored};
pub use error::HearError;
pub use hearing::{Alternative, Hearing, Said, Sign, Word};
pub use listener::Listener;
#[cfg(feature = "rten")]
pub use runtime::{Rten, WEIGHTS};
