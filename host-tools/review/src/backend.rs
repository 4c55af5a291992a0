//! What the page needs from the command: where things are, and how contacts are exported.

use std::path::{Path, PathBuf};

use chrono::TimeDelta;
use jumpseat_entries::OwnStation;
use jumpseat_logbook::Logbook;
use jumpseat_trip::{Timeline, Trip};

/// Something failed; the text says what, and what to do next.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct BackendError(pub String);

impl BackendError {
    /// The text of an error.
    pub(crate) fn of(error: impl std::fmt::Display) -> Self {
        Self(error.to_string())
    }
}

/// Formats of an export: the key as for `jumpseat export --format`, and its description.
pub const EXPORT_FORMATS: [(&str, &str); 5] = [
    ("adif", "ADIF, for other log programs (.adi)"),
    ("adx", "ADIF as XML (.adx)"),
    ("csv", "a table for a spreadsheet (.csv)"),
    ("gpx", "the route driven, with the contacts on it (.gpx)"),
    ("clips", "the sound of every contact (a folder)"),
];

/// The result of an export.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PageExport {
    /// The file or folder; `None` when nothing was written.
    pub file: Option<PathBuf>,
    /// Contacts in it.
    pub contacts: usize,
    /// Notes for the person, a sentence each.
    pub notes: Vec<String>,
}

/// What the command implements for the page.
pub trait ReviewBackend: Send + Sync + 'static {
    /// The beginning of a command for this library and logbook, for a person to copy.
    fn command(&self) -> String;
    /// Folders of the trips in the library, in the order of their names.
    fn trips(&self) -> Result<Vec<PathBuf>, BackendError>;
    /// Opens the logbook.
    fn logbook(&self) -> Result<Logbook, BackendError>;
    /// Whose log it is.
    fn own(&self) -> Result<OwnStation, BackendError>;
    /// How close the starts of two contacts must be to be possible duplicates.
    fn duplicate_window(&self) -> Result<TimeDelta, BackendError>;
    /// The clocks of a trip, as far as this computer knows them.
    fn timeline(&self, trip: &Trip) -> Timeline;
    /// The file in which drafting kept what it heard in a trip
    /// ([`jumpseat_draft::AssemblyInput`] as JSON). It need not be there.
    fn drive_file(&self, trip: &str) -> PathBuf;
    /// The file with what was said in the overs of a trip's entries
    /// ([`jumpseat_entries::TripTranscript`] as JSON). It need not be there.
    fn transcript_file(&self, trip: &str) -> PathBuf;
    /// The folder for pictures and sounds that can be made again.
    fn cache_folder(&self) -> &Path;
    /// Exports confirmed contacts: those of a trip, or all that are new.
    fn export(&self, format: &str, trip: Option<&str>) -> Result<PageExport, BackendError>;
}
