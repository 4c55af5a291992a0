//! Gives the review page access to this home, with the functions of the commands.

use std::path::{Path, PathBuf};

use chrono::TimeDelta;
use clap::ValueEnum as _;
use jumpseat_entries::OwnStation;
use jumpseat_logbook::Logbook;
use jumpseat_review::{BackendError, PageExport, ReviewBackend};
use jumpseat_trip::{Timeline, Trip};

use crate::clock;
use crate::export::{self, ExportFormat, ExportSelection};
use crate::home::HomeFolder;
use crate::outcome::error_message;

/// A home as the review page uses it.
pub(crate) struct ReviewHome {
    home: HomeFolder,
    kept: PathBuf,
}

impl ReviewHome {
    pub(crate) fn new(home: HomeFolder) -> Self {
        let kept = home.dir().join("review");
        Self { home, kept }
    }
}

/// An error with its causes, as the commands print it.
fn told(error: anyhow::Error) -> BackendError {
    BackendError(error_message(&error))
}

impl ReviewBackend for ReviewHome {
    fn command(&self) -> String {
        self.home.command()
    }

    fn trips(&self) -> Result<Vec<PathBuf>, BackendError> {
        self.home.trip_folders().map_err(told)
    }

    fn logbook(&self) -> Result<Logbook, BackendError> {
        let opened = self.home.logbook();
        opened.map_err(|error| told(self.home.with_advice(error)))
    }

    fn own(&self) -> Result<OwnStation, BackendError> {
        Ok(self.home.station().map_err(told)?.own())
    }

    fn duplicate_window(&self) -> Result<TimeDelta, BackendError> {
        Ok(self.home.station().map_err(told)?.duplicate_window(None))
    }

    fn timeline(&self, trip: &Trip) -> Timeline {
        clock::timeline(trip)
    }

    fn drive_file(&self, trip: &str) -> PathBuf {
        self.home.heard_drive_file(trip)
    }

    fn transcript_file(&self, trip: &str) -> PathBuf {
        self.home.transcript_file(trip)
    }

    fn cache_folder(&self) -> &Path {
        &self.kept
    }

    fn export(&self, format: &str, trip: Option<&str>) -> Result<PageExport, BackendError> {
        let format = ExportFormat::from_str(format, false).map_err(BackendError)?;
        let selection = match trip {
            Some(trip) => ExportSelection::trip(trip),
            None => ExportSelection::new_ones(),
        };
        let folder = self.home.dir().join("exports");
        std::fs::create_dir_all(&folder).map_err(|error| {
            BackendError(format!(
                "cannot make {}: {error}. Check that the disk has room and that you may write there",
                folder.display()
            ))
        })?;
        let out = folder.join(format.file_name(chrono::Utc::now()));
        if out.exists() {
            let out = out.display();
            return Err(BackendError(format!(
                "{out} is there already; try again in a second"
            )));
        }
        let report = export::write_export(&self.home, format, &selection, &out).map_err(told)?;
        Ok(PageExport {
            notes: report.notes(),
            contacts: report.entries.len(),
            file: report.file,
        })
    }
}
