//! Sound to tokens: front end, acoustic model, decoder.
//!
//! `SpeechRecogniser::hear` takes the samples of a recording and gives a `Hearing`: words with
//! times and probabilities, call signs with alternatives, reports, names, numbers.
//! Nothing here knows of contacts or of files.

pub mod acoustic;
pub mod activity;
mod best_path;
mod calibration;
mod ctc;
mod decoding;
mod error;
#[cfg(test)]
mod exhaustive;
mod fingerprint;
mod fold;
mod grammar;
mod hearing;
mod lattice;
mod listener;
pub mod mel;
mod recogniser;
mod repeat;
pub mod resample;
#[cfg(feature = "rten")]
mod runtime;
mod sign_shape;
mod signs;
mod spoken_values;
pub mod stretch;
mod views;

pub use error::RecogniserError;
pub use fingerprint::fingerprint;
pub use hearing::{AlternativeSign, HeardValue, Hearing, RecognisedSign, RecognisedWord};
pub use listener::RecordingListener;
pub use recogniser::{SpeechRecogniser, StretchScores};
#[cfg(feature = "rten")]
pub use runtime::RtenModel;
