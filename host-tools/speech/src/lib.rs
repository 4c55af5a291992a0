//! The speech recogniser: from the samples of a recording to what was said in it.
//!
//! `SpeechRecogniser::hear` gives a `Hearing`: words with times and probabilities, call signs
//! with alternatives, reports, names and numbers. On the way there
//!
//! - `activity` finds where somebody talks, and `stretch` what the model is given of that;
//! - `resample`, `mel` and the acoustic model (`acoustic`, `runtime`) give a probability for
//!   every word of the vocabulary every 40 ms; `recogniser` does so window by window, and
//!   `listener` for a recording that comes in pieces;
//! - `fold` adds up what stands for one letter, `lattice` weighs every way to read a stretch
//!   as call signs (`lattice_state`, `lattice_step`), `grammar` and `repeat` sum how much of
//!   all readings says one sign twice (`form_automaton`, `said`), and `signs` pools what was
//!   said again; `sign_form` and `sign_shape` say what signs look like, `between` what is
//!   said between them;
//! - `views` averages a doubtful stretch with the same played slower, and `calibration` turns
//!   the decoder's probability into how often such a sign is right;
//! - `best_path` finds words and numbers, `spoken_values` reports and names, `ctc` how
//!   probable it is that something was said; `decoding` puts it all into the `Hearing`.
//!
//! Where it is asked for, `transcribing` also writes down all that was said: `text_windows`
//! cuts the stretch in pauses, `beam_search` finds the best text that the text decoder
//! (`text_model`) writes with `pieces`, and `transcript` makes words of it, with their times
//! from an `alignment` with the `letters` that the acoustic model hears besides.
//!
//! Where the text says 'name is', `naming` asks `name_search` how well each of the `first_names`
//! fits the sound there, and `name_scoring` makes probabilities of that.
//!
//! Nothing here knows of contacts or of files. What the model is and how it is trained stands
//! in `model/MODEL.md`.
#![forbid(unsafe_code)]

pub mod acoustic;
pub mod activity;
mod alignment;
mod beam_search;
mod best_path;
mod between;
mod calibration;
mod ctc;
mod decoding;
mod error;
#[cfg(test)]
mod exhaustive;
mod fingerprint;
mod first_names;
mod fold;
mod form_automaton;
mod grammar;
mod hearing;
mod lattice;
mod lattice_state;
mod lattice_step;
mod letter_prefix;
pub mod letters;
mod listener;
pub mod mel;
mod name_decoding;
mod name_letters;
mod name_places;
mod name_scoring;
mod name_search;
mod naming;
pub mod pieces;
mod recogniser;
mod repeat;
pub mod resample;
#[cfg(feature = "rten")]
mod runtime;
mod said;
mod sign_form;
mod sign_shape;
mod signs;
#[cfg(test)]
mod spoken_forms;
mod spoken_values;
pub mod stretch;
pub mod text_model;
mod text_windows;
mod transcribing;
mod transcript;
mod views;

pub use error::RecogniserError;
pub use fingerprint::fingerprint;
pub use hearing::{
    AlternativeSign, DOUBTFUL_WORD, HeardValue, Hearing, RecognisedSign, RecognisedWord,
    TranscriptWord,
};
pub use listener::RecordingListener;
pub use name_scoring::{NameFigures, NameReading};
pub use recogniser::{SpeechRecogniser, StretchScores};
#[cfg(feature = "rten")]
pub use runtime::RtenModel;
pub use transcript::SpokenWord;
