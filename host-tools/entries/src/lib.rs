//! A log entry: its draft, a person's edits, and the contact that they make.
//!
//! An entry has a number that never changes and is never given twice. It holds a draft
//! (values with doubts and evidence), or a contact (what a person confirmed), or both.
#![forbid(unsafe_code)]

mod area;
mod contact;
mod draft;
mod edits;
mod entry;
mod station;

pub use area::Area;
pub use contact::{Contact, Extra};
pub use draft::{Alternative, Draft, DraftOver, Evidence, Field, Kind};
pub use edits::{Own, Said, Word, Wrong, contact as contact_of, start as contact_start};
pub use entry::{Entry, Review, Verdict};
pub use station::home_call;
