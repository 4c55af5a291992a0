//! The logbook (SQLite): entries, and every action on them, which can be undone.
//!
//! A newer draft replaces a draft and never a contact. The logbook knows nothing of trips
//! beyond the name that an entry refers to.
#![forbid(unsafe_code)]

mod book;
mod error;
mod schema;

pub use book::{
    BackupReason, DuplicateEntries, DuplicateReason, EntryChange, EntryFilter, EntrySearch,
    ImportConflict, ImportOutcome, ImportSummary, Logbook, LogbookAction, LogbookBackup, NewExport,
    RecordedExport, RestoredLogbook, StoredDrafts, UndoneAction, WarningHandler, WorkedStation,
    backup_folder, backups, restore,
};
pub use error::{LogbookError, NotALogbook};
