//! Trips into the library: every file verified, nothing half done under its own
//! name, the same again changes nothing.
//!
//! A new trip is copied into a hidden folder beside its place and takes its name
//! when it is whole. What an interrupted pull copied is found by the next one,
//! which goes on in the middle of a file. When a trip is whole and proven, its
//! receipt goes back to the card.

mod bring;
mod copy;
mod find;
mod folder;
mod identity;
mod keeper;
mod library;
mod names;
mod nearby;
mod noted;
mod receipt;
mod running;
mod sftp;
mod source;
mod sums;
mod watch;

use std::path::Path;
use std::time::{Duration, Instant};

use anyhow::{Result, bail};

use crate::home::Home;
use crate::outcome::words;
use crate::system;
use crate::text::bytes;
use bring::{How, bring};
use find::{Found, SourceTrip, find};
use folder::Folder;
use library::Library;
use sftp::Sftp;
use source::Source;
use watch::Watch;

pub(crate) use identity::{Identity, identity};
pub(crate) use nearby::boards as boards_nearby;
pub(crate) use sums::{Sums, forget_sums};
pub(crate) use watch::{Event, Tell};

/// In the card's folder; the board stays awake for two minutes after each touch.
const LEASE: &str = "pull-lease";
const LEASE_EVERY: Duration = Duration::from_secs(20);

/// What is asked for.
pub(crate) struct Request<'a> {
    /// A folder, or `ssh://[user@]host[:port][/path]`.
    pub(crate) source: &'a str,
    /// What is here already is read and compared as well.
    pub(crate) verify: bool,
    /// A configuration file for ssh in place of the usual ones.
    pub(crate) ssh_config: Option<&'a Path>,
    /// Bytes that a source may bring at most.
    pub(crate) at_most: u64,
    /// Who is told what happens.
    pub(crate) tell: Tell<'a>,
}

/// What was done about one trip.
#[derive(Debug)]
pub(crate) struct Report {
    /// Its name in the library.
    pub(crate) trip: String,
    /// Board and operator, as far as it tells.
    pub(crate) identity: Identity,
    /// Files copied.
    pub(crate) copied: usize,
    /// Bytes in them.
    pub(crate) bytes: u64,
    /// Files that were in the library already.
    pub(crate) present: usize,
    /// The recorder is at it: only what was closed has come.
    pub(crate) running: bool,
    /// What a person should know.
    pub(crate) doubts: Vec<String>,
    /// What is worth a word but harms nothing here.
    pub(crate) notes: Vec<String>,
}

/// Copies the trips of a source into the library.
pub(crate) fn pull(home: &Home, request: &Request<'_>) -> Result<Vec<Report>> {
    let begun = Instant::now();
    let mut source: Box<dyn Source> = if request.source.starts_with("ssh://") {
        Box::new(Sftp::connect(request.source, request.ssh_config)?)
    } else {
        Box::new(Folder::new(system::given(request.source)))
    };
    let source = source.as_mut();
    let found = find(source)?;
    let library = Library::open(&home.trips())?;
    let total = within_limits(source, &found, request.at_most)?;
    library.make_sure_of_room(&found.trips, &home.command())?;
    let watch = Watch::new(total, request.tell);
    watch.event(&Event::Found {
        source: request.source,
        trips: found.trips.len(),
        files: found.trips.iter().map(|trip| trip.files.len()).sum(),
        bytes: total,
    })?;
    let mut held = None;
    let mut reports = Vec::new();
    for trip in &found.trips {
        let mut report = Report::of(trip);
        if let Some(card) = &found.card
            && held.is_none()
            && !library.has(trip)
        {
            held = Some(hold(source, card, &mut report));
        }
        let how = How {
            verify: request.verify,
            running: running::may_be(trip, &found, held.flatten()),
            watch: &watch,
        };
        bring(source, trip, &library, how, &mut report)?;
        confirm(source, &found, trip, &library, &mut report)?;
        report.identity = identity(&library.place(&trip.name));
        watch.event(&report.event())?;
        reports.push(report);
    }
    watch.event(&Event::End {
        trips: reports.len(),
        copied: reports.iter().map(|report| report.copied).sum(),
        bytes: reports.iter().map(|report| report.bytes).sum(),
        seconds: begun.elapsed().as_secs_f64(),
        doubts: reports.iter().any(|report| !report.doubts.is_empty()),
    })?;
    Ok(reports)
}

/// The bytes of all trips, unless they are more than may come.
fn within_limits(source: &dyn Source, found: &Found, at_most: u64) -> Result<u64> {
    let files = found.trips.iter().flat_map(|trip| &trip.files);
    // A hostile source may name lengths whose sum does not fit.
    let total = files.fold(0, |sum: u64, file| sum.saturating_add(file.bytes));
    if total > at_most {
        bail!(
            "{} holds {} of trips, more than a pull may bring. If that is right, pull with \
             --at-most-gb {}",
            source.say(""),
            bytes(total),
            total / 1_000_000_000 + 1
        );
    }
    Ok(total)
}

/// Keeps the board awake; gives its own time, by which its files can be judged.
fn hold(source: &mut dyn Source, card: &str, report: &mut Report) -> running::BoardTime {
    let lease = format!("{card}{LEASE}");
    if let Err(error) = source.hold(&lease) {
        report.notes.push(format!(
            "a board that is parked may fall asleep before the end: {}",
            words(&error)
        ));
        return None;
    }
    running::board_time(source, card)
}

impl Report {
    fn of(trip: &SourceTrip) -> Self {
        Self {
            trip: trip.name.clone(),
            identity: Identity::default(),
            copied: 0,
            bytes: 0,
            present: 0,
            running: false,
            doubts: trip.doubts.clone(),
            notes: trip.notes.clone(),
        }
    }

    fn event(&self) -> Event<'_> {
        Event::Trip {
            trip: &self.trip,
            board: self.identity.board.as_deref(),
            operator: self.identity.operator(),
            copied: self.copied,
            bytes: self.bytes,
            present: self.present,
            doubts: &self.doubts,
            notes: &self.notes,
        }
    }
}

/// Gives the receipt of a trip that is here without any doubt.
fn confirm(
    source: &mut dyn Source,
    found: &Found,
    trip: &SourceTrip,
    library: &Library,
    report: &mut Report,
) -> Result<()> {
    let Some(card) = &found.card else {
        return Ok(());
    };
    if !report.doubts.is_empty() || report.running || !trip.under_its_name {
        return Ok(());
    }
    let sums = Sums::read(&library.place(&trip.name))?;
    if let Err(error) = receipt::give(source, card, trip, &sums) {
        report.notes.push(format!(
            "the receipt was not written, so the board will keep the trip: {}",
            words(&error)
        ));
    }
    Ok(())
}
