//! The logbook (SQLite): entries, and every action on them, which can be undone.
//!
//! A newer draft replaces a draft and never a contact. The logbook knows nothing of trips
//! beyond the name that an entry refers to.
#![forbid(unsafe_code)]

mod book;
mod error;
mod schema;

pub use book::{
    Action, Backup, Became, Change, Export, Exported, Filter, Imported, Logbook, Pair, Reason,
    Restored, Retold, Search, Stored, Tell, Undone, Why, Worked, backup_folder, backups, restore,
};
pub use error::{LogError, Unfit};
