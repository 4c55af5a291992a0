//! In which form, and which contacts.

use chrono::NaiveDate;
use clap::ValueEnum;
use jumpseat_log::{Entry, nearest_second};

/// The form of what is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// ADIF 3.1.6 as text, an .adi file
    Adif,
    /// ADIF 3.1.6 as XML, an .adx file
    Adx,
    /// A table for a spreadsheet
    Csv,
    /// The way that was driven, with a waypoint for every contact
    Gpx,
    /// A folder with the sound of every contact, and a page to listen to it
    Clips,
}

impl Format {
    /// As the logbook notes it, and the end of a file's name.
    pub(crate) const fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::Adif => ("adif", ".adi"),
            Self::Adx => ("adx", ".adx"),
            Self::Csv => ("csv", ".csv"),
            Self::Gpx => ("gpx", ".gpx"),
            Self::Clips => ("clips", "-clips"),
        }
    }
}

/// Which contacts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Which {
    /// Those that did not go out in this format yet.
    New,
    /// All of them.
    All,
    /// Those of a trip, by its name.
    Trip(String),
}

/// Which contacts, and on which days (UTC, both included).
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Selection {
    pub(crate) which: Which,
    pub(crate) from: Option<NaiveDate>,
    pub(crate) to: Option<NaiveDate>,
}

impl Selection {
    /// Everything of a trip.
    pub(crate) fn trip(name: &str) -> Self {
        Self {
            which: Which::Trip(name.to_owned()),
            from: None,
            to: None,
        }
    }

    /// Whether the entry lies in the days that were asked for.
    pub(super) fn holds(&self, entry: &Entry) -> bool {
        let contact = entry.contact.as_ref().and_then(|contact| contact.on);
        let draft = entry.draft.as_ref().and_then(|draft| draft.on.value);
        match contact.or(draft).map(|on| nearest_second(on).date_naive()) {
            Some(day) => {
                self.from.is_none_or(|from| from <= day) && self.to.is_none_or(|to| day <= to)
            }
            None => self.from.is_none() && self.to.is_none(),
        }
    }
}
