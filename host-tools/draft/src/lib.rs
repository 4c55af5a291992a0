//! Overs, marks and dial settings to draft contacts, each with evidence and doubts.
//!
//! Pure: what goes in is a [`AssemblyInput`], what comes out is an [`DraftAssembly`]. Times
//! are seconds of trip time (0 at the first sample of the trip). This room
//! knows nothing of audio samples, of files, of UTC or of the logbook, so the
//! same rules run on a recorded trip, in the simulator and in a table of tests.
#![forbid(unsafe_code)]

mod assemble;
mod assembly;
mod attribution;
mod dial;
mod drive;
mod event;
mod feature;
pub mod fit;
mod fitted;
mod heard;
mod judged;
mod marks;
mod model;
mod own_sign;
mod rules;
mod spoken;
mod spoken_values;
mod station;
#[cfg(test)]
mod station_tests;
mod stroke;
#[cfg(test)]
mod tests;
mod turn;

pub use assemble::assemble;
pub use assembly::{DraftAssembly, DraftContact, DraftEntryKind, UnansweredOver, UnansweredReason};
pub use drive::{
    AssemblyInput, DialChange, DialSetting, DriveOver, OverDirection, Span, SpeechActivity,
};
pub use fitted::MentionPooling;
pub use heard::{HeardOver, HeardSign, HeardText, HeardWord};
pub use judged::{Alternative, Doubt, Evidence, Judged};
pub use rules::DraftRules;
pub use spoken::SpokenFormShares;
