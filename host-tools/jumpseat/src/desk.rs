//! What the review page is given: this home, and what the commands do with it.

use std::path::{Path, PathBuf};

use chrono::TimeDelta;
use clap::ValueEnum as _;
use jumpseat_entries::Own;
use jumpseat_logbook::Logbook;
use jumpseat_review::{Desk, Exported, Trouble};
use jumpseat_trip::{Timeline, Trip};

use crate::clock;
use crate::export::{self, Format, Selection};
use crate::home::Home;
use crate::outcome::words;

/// A home as the page's desk.
pub(crate) struct HomeDesk {
    home: Home,
    kept: PathBuf,
}

impl HomeDesk {
    pub(crate) fn new(home: Home) -> Self {
        let kept = home.dir().join("review");
        Self { home, kept }
    }
}

/// An error with its causes, as the commands tell it.
fn told(error: anyhow::Error) -> Trouble {
    Trouble(words(&error))
}

impl Desk for HomeDesk {
    fn command(&self) -> String {
        self.home.command()
    }

    fn trips(&self) -> Result<Vec<PathBuf>, Trouble> {
        self.home.trip_folders().map_err(told)
    }

    fn logbook(&self) -> Result<Logbook, Trouble> {
        let opened = self.home.logbook();
        opened.map_err(|error| told(self.home.advise(error)))
    }

    fn own(&self) -> Result<Own, Trouble> {
        Ok(self.home.station().map_err(told)?.own())
    }

    fn within(&self) -> Result<TimeDelta, Trouble> {
        Ok(self.home.station().map_err(told)?.within(None))
    }

    fn timeline(&self, trip: &Trip) -> Timeline {
        clock::timeline(trip)
    }

    fn drive(&self, trip: &str) -> PathBuf {
        self.home.drive(trip)
    }

    fn kept(&self) -> &Path {
        &self.kept
    }

    fn export(&self, format: &str, trip: Option<&str>) -> Result<Exported, Trouble> {
        let format = Format::from_str(format, false).map_err(Trouble)?;
        let selection = match trip {
            Some(trip) => Selection::trip(trip),
            None => Selection::new_ones(),
        };
        let folder = self.home.dir().join("exports");
        std::fs::create_dir_all(&folder).map_err(|error| {
            Trouble(format!(
                "cannot make {}: {error}. Check that the disk has room and that you may write there",
                folder.display()
            ))
        })?;
        let out = folder.join(format.file_name(chrono::Utc::now()));
        if out.exists() {
            let out = out.display();
            return Err(Trouble(format!(
                "{out} is there already; try again in a second"
            )));
        }
        let report = export::take(&self.home, format, &selection, &out).map_err(told)?;
        Ok(Exported {
            notes: report.notes(),
            contacts: report.entries.len(),
            file: report.file,
        })
    }
}
