//! The logbook (SQLite): entries, and every action on them, which can be undone.
//!
//! A newer draft replaces a draft and never a contact. The logbook knows nothing of trips
//! beyond the name that an entry refers to.
#![forbid(unsafe_code)]

mod backup_files;
mod book;
mod error;
mod schema;

pub use backup_files::{BackupReason, LogbookBackup, backup_folder, backups};
pub use book::{
    DuplicateEntries, DuplicateReason, EntryChange, EntryFilter, EntrySearch, ImportConflict,
    ImportOutcome, ImportSummary, Logbook, LogbookAction, NewExport, RecordedExport,
    RestoredLogbook, StoredDrafts, UndoneAction, WarningHandler, WorkedStation, restore,
};
pub use error::{LogbookError, NotALogbook};
