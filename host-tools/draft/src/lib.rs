//! Makes draft contacts of overs, marks and dial settings, each with evidence and doubts.
//!
//! Pure: what goes in is a [`AssemblyInput`], what comes out is an [`DraftAssembly`]. Times
//! are seconds of trip time (0 at the first sample of the trip). This crate
//! knows nothing of audio samples, of files, of UTC or of the logbook, so the
//! same rules run on a recorded trip, in the simulator and in a table of tests.
#![forbid(unsafe_code)]

mod assemble;
mod assembly;
mod attribution;
mod cut;
mod dial;
mod drive;
mod feature;
pub mod fit;
mod fitted;
mod heard;
mod marks;
mod model;
mod over_stretch;
mod own_sign;
mod rules;
mod sign_distance;
mod spoken;
mod spoken_values;
mod station;
mod stroke;
#[cfg(test)]
mod tests;

pub use assemble::assemble;
pub use assembly::{DraftAssembly, DraftContact, DraftEntryKind, UnansweredOver, UnansweredReason};
pub use drive::{AssemblyInput, DialChange, DriveOver, OverDirection, SpeechActivity};
pub use fitted::MentionPooling;
pub use heard::{HeardOver, HeardSign, HeardText, HeardWord, WrittenWord};
pub use rules::DraftRules;
pub use spoken::SpokenFormShares;
