//! A log entry: its draft, a person's edits, and the contact that they make.
//!
//! An entry has a number that never changes and is never given twice. It holds a draft
//! (values with doubts and evidence), or a contact (what a person confirmed), or both.
#![forbid(unsafe_code)]

mod area;
mod contact;
mod draft;
mod edits;
mod effective;
mod entry;
pub mod fields;
mod home_call;
mod join;
mod own_station;
pub mod resolve;
mod split;
mod spoken_phrase;
mod transcript;

pub use area::AdministrativeArea;
pub use contact::{Contact, ExtraField};
pub use draft::{Draft, DraftKind, DraftOver};
pub use edits::{EditError, Edits};
pub use effective::{edited_contact, likely_contact, starting_contact};
pub use entry::{Entry, EntryReview, EntryVerdict};
pub use fields::ContactField;
pub use home_call::home_call;
pub use join::join;
pub use own_station::OwnStation;
pub use split::split;
pub use spoken_phrase::{PhraseError, SearchPhrase, spoken_sentences};
pub use transcript::{OverTranscript, SaidWord, TripTranscript};
