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
mod home_call;

pub use area::AdministrativeArea;
pub use contact::{Contact, ExtraField};
pub use draft::{Draft, DraftKind, DraftOver};
pub use edits::{
    ContactField, EditError, Edits, OwnStation, contact as contact_of, start as contact_start,
};
pub use entry::{Entry, EntryReview, EntryVerdict};
pub use home_call::home_call;
