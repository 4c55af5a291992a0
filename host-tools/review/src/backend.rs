//! What the command brings: where things are, and what it does the same way
//! itself.

use std::path::{Path, PathBuf};

use chrono::TimeDelta;
use jumpseat_entries::OwnStation;
use jumpseat_logbook::Logbook;
use jumpseat_trip::{Timeline, Trip};

/// Something did not work; in words for a person, with what to do next.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct BackendError(pub String);

impl BackendError {
    /// In the words of an error.
    pub(crate) fn of(error: impl std::fmt::Display) -> Self {
        Self(error.to_string())
    }
}

/// Formats of an export: key as for `jumpseat export --format`, and what it is.
pub const EXPORT_FORMATS: [(&str, &str); 5] = [
    ("adif", "ADIF, for other log programs (.adi)"),
    ("adx", "ADIF as XML (.adx)"),
    ("csv", "a table for a spreadsheet (.csv)"),
    ("gpx", "the way driven, with the contacts on it (.gpx)"),
    ("clips", "the sound of every contact (a folder)"),
];

/// What became of an export.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PageExport {
    /// The file or folder; `None` when nothing was written.
    pub file: Option<PathBuf>,
    /// Contacts in it.
    pub contacts: usize,
    /// What a person should know, a sentence each.
    pub notes: Vec<String>,
}

/// The command's side of the page.
pub trait ReviewBackend: Send + Sync + 'static {
    /// How a command for this library and logbook begins, for a person to copy.
    fn command(&self) -> String;
    /// Folders of the trips in the library, by name.
    fn trips(&self) -> Result<Vec<PathBuf>, BackendError>;
    /// Opens the logbook.
    fn logbook(&self) -> Result<Logbook, BackendError>;
    /// Whose log it is.
    fn own(&self) -> Result<OwnStation, BackendError>;
    /// Contacts that began within this time of each other may be the same.
    fn duplicate_window(&self) -> Result<TimeDelta, BackendError>;
    /// The clocks of a trip as this computer can know them.
    fn timeline(&self, trip: &Trip) -> Timeline;
    /// The file in which drafting kept what it heard in a trip
    /// ([`jumpseat_draft::AssemblyInput`] as JSON). It need not be there.
    fn drive_file(&self, trip: &str) -> PathBuf;
    /// The folder for pictures and sounds that can be made again.
    fn cache_folder(&self) -> &Path;
    /// Exports confirmed contacts: those of a trip, or all that are new.
    fn export(&self, format: &str, trip: Option<&str>) -> Result<PageExport, BackendError>;
}
