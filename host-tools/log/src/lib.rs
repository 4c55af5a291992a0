//! The logbook (SQLite) and its open formats.
//!
//! An entry has a number that never changes and is never given twice. It holds
//! a draft (values with doubts and evidence), or a contact (what a person
//! confirmed), or both. A newer draft replaces a draft and never a contact.
//!
//! This room knows nothing of trips beyond the name that an entry refers to.
#![forbid(unsafe_code)]

pub mod adif;
mod area;
mod book;
pub mod bwf;
mod contact;
mod draft;
mod durable;
mod error;
pub mod form;
pub mod gpx;
mod reading;
mod said;
mod schema;
mod station;
pub mod table_csv;
mod unfinished;
mod xml;

pub use area::Area;
pub use book::{
    Action, Backup, Became, Change, Entry, Export, Exported, Filter, Imported, Logbook, Pair,
    Reason, Restored, Retold, Review, Search, Stored, Tell, Undone, Verdict, Why, Worked,
    backup_folder, backups, restore,
};
pub use contact::{Contact, Extra};
pub use draft::{Alternative, Draft, DraftOver, Evidence, Field, Kind};
pub use durable::{make_private_folder, sync_folder, write as write_durably, write_private};
pub use error::{LogError, Unfit};
pub use form::{megahertz, nearest_second};
pub use reading::{Complaint, Complaints, Reading, Told};
pub use said::{Own, Said, Word, Wrong, contact as contact_of, start as contact_start};
pub use station::home_call;
pub use unfinished::{UnfinishedFolder, abandon_unfinished, clear_unfinished};
pub use xml::escape as escape_xml;
