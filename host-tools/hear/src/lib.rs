//! Sound to tokens: front end, acoustic model, decoder.
//!
//! `Ear::hear` takes the samples of a recording and gives a `Hearing`: words with
//! times and probabilities, call signs with alternatives, reports, names, numbers.
//! Nothing here knows of contacts or of files.

pub mod acoustic;
pub mod activity;
mod beam;
mod ctc;
mod ear;
mod error;
mod fold;
mod hearing;
pub mod mel;
pub mod resample;
#[cfg(feature = "rten")]
mod runtime;
mod shape;
mod signs;
pub mod vocabulary;
mod words;

pub use ear::Ear;
pub use error::HearError;
pub use hearing::{Alternative, Hearing, Said, Sign, Word};
#[cfg(feature = "rten")]
pub use runtime::Rten;
