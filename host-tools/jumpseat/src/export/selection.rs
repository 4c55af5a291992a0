//! Which contacts to export, and in which format.

use chrono::{DateTime, NaiveDate, Utc};
use clap::ValueEnum;
use jumpseat_logbook::{EntryFilter, EntrySearch};

/// The format of the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum ExportFormat {
    /// ADIF 3.1.6 as text, an .adi file
    Adif,
    /// ADIF 3.1.6 as XML, an .adx file
    Adx,
    /// A table for a spreadsheet
    Csv,
    /// The track of the drive, with a waypoint for every contact
    Gpx,
    /// A folder with the sound of every contact, and a page to listen to it
    Clips,
    /// A folder with every sound file of a trip (--trip) as Broadcast Wave with its UTC
    Segments,
}

impl ExportFormat {
    /// The default name of a file or folder that is written now.
    pub(crate) fn file_name(self, now: DateTime<Utc>) -> String {
        let (_, ending) = self.words();
        format!("jumpseat-{}{ending}", now.format("%Y%m%d-%H%M%S"))
    }

    /// The name in the logbook, and the end of a file's name.
    pub(crate) const fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Adif => ("adif", ".adi"),
            Self::Adx => ("adx", ".adx"),
            Self::Csv => ("csv", ".csv"),
            Self::Gpx => ("gpx", ".gpx"),
            Self::Clips => ("clips", "-clips"),
            Self::Segments => ("segments", "-segments"),
        }
    }
}

/// Which contacts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum ExportScope {
    /// Those that were not exported in this format before.
    New,
    /// All of them.
    All,
    /// Those of a trip, by its name.
    Trip(String),
}

/// Which contacts, in detail (days in UTC, both included).
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct ExportSelection {
    pub(crate) which: ExportScope,
    pub(crate) from: Option<NaiveDate>,
    pub(crate) to: Option<NaiveDate>,
    /// A part of the other station's call sign.
    pub(crate) call: Option<String>,
    pub(crate) band: Option<String>,
    /// Own call sign.
    pub(crate) station: Option<String>,
    /// Drafts too.
    pub(crate) drafts: bool,
}

impl ExportSelection {
    /// The contacts that were not exported before.
    pub(crate) fn new_ones() -> Self {
        Self {
            which: ExportScope::New,
            ..Self::trip("")
        }
    }

    /// Everything of a trip.
    pub(crate) fn trip(name: &str) -> Self {
        Self {
            which: ExportScope::Trip(name.to_owned()),
            from: None,
            to: None,
            call: None,
            band: None,
            station: None,
            drafts: false,
        }
    }

    /// The search in the logbook: confirmed contacts by format, or all matching entries.
    pub(super) fn search<'a>(&'a self, word: &'a str) -> EntrySearch<'a> {
        EntrySearch {
            filter: match &self.which {
                ExportScope::New => EntryFilter::New(word),
                ExportScope::All if self.drafts => EntryFilter::All,
                ExportScope::All => EntryFilter::Confirmed,
                ExportScope::Trip(name) => EntryFilter::Trip(name),
            },
            call: self.call.as_deref(),
            band: self.band.as_deref(),
            station: self.station.as_deref(),
            from: self.from,
            to: self.to,
            last: None,
        }
    }
}
