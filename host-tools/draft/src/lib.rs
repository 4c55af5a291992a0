//! Overs, marks and dial settings to draft contacts, each with evidence and doubts.
//!
//! Pure: what goes in is a [`Drive`], what comes out is an [`Assembly`]. Times
//! are seconds of trip time (0 at the first sample of the trip). This room
//! knows nothing of audio samples, of files, of UTC or of the logbook, so the
//! same rules run on a recorded trip, in the simulator and in a table of tests.
#![forbid(unsafe_code)]

mod assemble;
mod company;
mod dial;
mod drive;
mod event;
mod exchange;
mod feature;
pub mod fit;
mod fitted;
mod heard;
mod judged;
mod marks;
mod model;
mod output;
mod own;
mod rules;
mod said;
mod station;
#[cfg(test)]
mod station_tests;
mod stroke;
#[cfg(test)]
mod tests;
mod values;

pub use assemble::assemble;
pub use drive::{Activity, DialChange, DialSetting, Direction, Drive, Over, Span};
pub use fitted::Pooling;
pub use heard::{Heard, HeardSign, HeardText, HeardWord};
pub use judged::{Alternative, Doubt, Evidence, Judged};
pub use output::{Assembly, DraftContact, Kind, Unanswered, Why};
pub use rules::Rules;
pub use said::Shares;
