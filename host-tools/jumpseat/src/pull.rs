//! Trips into the library: every file verified, nothing half done under its own
//! name, the same again changes nothing.
//!
//! A new trip is copied into a hidden folder beside its place and takes its name
//! when what can be had of it is here. Which trip it is, its power-up and its records
//! say, and not its name: a second card begins with the same names again. A file of
//! the library is never replaced by one that does not hold all of it. What an interrupted pull copied is found by the next one,
//! which goes on in the middle of a file. When a trip is whole and proven, its
//! receipt goes back to the card.

mod append_only;
mod bring;
mod copy;
mod evidence;
mod find;
mod folder;
mod identity;
mod keeper;
mod library;
mod likeness;
mod names;
mod nearby;
mod noted;
mod receipt;
mod running;
mod sftp;
mod sound;
mod source;
mod sums;
mod watch;

use std::path::Path;
use std::time::{Duration, Instant};

use anyhow::{Result, bail};
use jumpseat_trip::name_on_board;
use serde::Serialize;

use crate::home::HomeFolder;
use crate::outcome::error_message;
use crate::system;
use crate::text::bytes;
use bring::{TransferOptions, transfer_trip};
use find::{SourceTrip, SourceTrips, find_trips};
use folder::FolderSource;
use library::{LibraryPlace, TripLibrary, has_all_files};
use sftp::SftpSource;
use source::{TripSource, is_gone};
use watch::PullProgress;

pub(crate) use identity::{TripIdentity, identity};
pub(crate) use nearby::boards as boards_nearby;
pub(crate) use sums::{ChecksumList, forget_checksums};
pub(crate) use watch::{PullEvent, PullListener};

/// In the card's folder; the board stays awake for two minutes after each touch.
const LEASE_FILE: &str = "pull-lease";
const LEASE_EVERY: Duration = Duration::from_secs(20);

/// What is asked for.
pub(crate) struct PullRequest<'a> {
    /// A folder, or `ssh://[user@]host[:port][/path]`.
    pub(crate) source: &'a str,
    /// What is here already is read and compared as well.
    pub(crate) verify: bool,
    /// A configuration file for ssh in place of the usual ones.
    pub(crate) ssh_config: Option<&'a Path>,
    /// Bytes that a source may bring at most.
    pub(crate) at_most: u64,
    /// How long a board may be silent before it is given up.
    pub(crate) patience: Duration,
    /// Who is told what happens.
    pub(crate) tell: PullListener<'a>,
}

/// What was done about one trip.
#[derive(Debug)]
pub(crate) struct PullReport {
    /// Its name in the library.
    pub(crate) trip: String,
    /// Board and operator, as far as it tells.
    pub(crate) identity: TripIdentity,
    /// Files copied.
    pub(crate) copied: usize,
    /// Bytes in them.
    pub(crate) bytes: u64,
    /// Files that were in the library already.
    pub(crate) present: usize,
    /// The recorder is at it: only what was closed has come.
    pub(crate) running: bool,
    /// Files that did not come; the next pull tries them again.
    pub(crate) missing: Vec<MissingFile>,
    /// What a person should know.
    pub(crate) doubts: Vec<String>,
    /// What is worth a word but harms nothing here.
    pub(crate) notes: Vec<String>,
}

/// A file that could not be copied.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(crate) struct MissingFile {
    /// The trip's name in the library.
    pub(crate) trip: String,
    /// From the trip's folder.
    pub(crate) file: String,
    /// Why.
    pub(crate) error: String,
}

/// Copies the trips of a source into the library; `reports` are those of the trips that
/// were gone through, also where it ends with an error.
///
/// # Errors
/// When the source cannot be had, or not to its end, or the library cannot be written.
pub(crate) fn pull(
    home: &HomeFolder,
    request: &PullRequest<'_>,
    reports: &mut Vec<PullReport>,
) -> Result<()> {
    let begun = Instant::now();
    let mut source: Box<dyn TripSource> = if request.source.starts_with("ssh://") {
        let PullRequest {
            source,
            ssh_config,
            patience,
            ..
        } = *request;
        Box::new(SftpSource::connect(source, ssh_config, patience)?)
    } else {
        Box::new(FolderSource::new(system::path_argument(request.source)))
    };
    let source = source.as_mut();
    let mut found = find_trips(source)?;
    let mut library = TripLibrary::open(&home.trips())?;
    let total = within_limits(source, &found, request.at_most)?;
    let mut trips = Vec::new();
    for trip in std::mem::take(&mut found.trips) {
        let place = library.place(source, &trip)?;
        trips.push((trip, place));
    }
    library.make_sure_of_room(&trips, &home.command())?;
    let watch = PullProgress::new(total, request.tell);
    watch.event(&PullEvent::Found {
        source: request.source,
        trips: trips.len(),
        files: trips.iter().map(|(trip, _)| trip.files.len()).sum(),
        bytes: total,
    })?;
    let mut held = None;
    for (number, (trip, place)) in trips.iter().enumerate() {
        // One before it may be the same trip, or have taken its name.
        let alike = |(before, _): &(SourceTrip, LibraryPlace)| before.name == trip.name;
        let place = if trips[..number].iter().any(alike) {
            &library.place(source, trip)?
        } else {
            place
        };
        let mut report = PullReport::of(trip, place);
        if let Some(card) = &found.card
            && held.is_none()
            && !has_all_files(trip, place)
        {
            held = Some(hold(source, card, &mut report));
        }
        let how = TransferOptions {
            verify: request.verify,
            may_be_running: running::may_be(trip, &trips, held.flatten()),
            watch: &watch,
        };
        transfer_trip(source, trip, (&library, place), how, &mut report)?;
        library.has_come(place);
        confirm(source, found.card.as_deref(), trip, place, &mut report)?;
        report.identity = identity(&place.path);
        watch.event(&report.event())?;
        reports.push(report);
    }
    let missing: Vec<&MissingFile> = reports.iter().flat_map(|report| &report.missing).collect();
    watch.event(&PullEvent::End {
        trips: reports.len(),
        copied: reports.iter().map(|report| report.copied).sum(),
        bytes: reports.iter().map(|report| report.bytes).sum(),
        seconds: begun.elapsed().as_secs_f64(),
        doubts: reports.iter().any(PullReport::is_doubtful),
        failed: &missing,
    })
}

/// The bytes of all trips, unless they are more than may come.
fn within_limits(source: &dyn TripSource, found: &SourceTrips, at_most: u64) -> Result<u64> {
    let files = found.trips.iter().flat_map(|trip| &trip.files);
    // A hostile source may name lengths whose sum does not fit.
    let total = files.fold(0, |sum: u64, file| sum.saturating_add(file.bytes));
    if total > at_most {
        bail!(
            "{} holds {} of trips, more than a pull may bring. If that is right, pull with \
             --at-most-gb {}",
            source.display_path(""),
            bytes(total),
            total / 1_000_000_000 + 1
        );
    }
    Ok(total)
}

/// Keeps the board awake; gives its own time, by which its files can be judged.
fn hold(source: &mut dyn TripSource, card: &str, report: &mut PullReport) -> running::BoardTime {
    let lease = format!("{card}{LEASE_FILE}");
    if let Err(error) = source.hold_lease(&lease) {
        report.notes.push(format!(
            "a board that is parked may fall asleep before the end: {}",
            error_message(&error)
        ));
        return None;
    }
    running::board_time(source, card)
}

impl PullReport {
    /// Something about it is for a person to look at.
    pub(crate) fn is_doubtful(&self) -> bool {
        !self.doubts.is_empty() || !self.missing.is_empty()
    }

    fn of(trip: &SourceTrip, place: &LibraryPlace) -> Self {
        let name = place.name();
        let mut notes = trip.notes.clone();
        if !place.is_known && name_on_board(&name) != name {
            notes.push(format!(
                "another trip of the name {} is here already, from another card or board; this \
                 one is kept as {name}",
                trip.name
            ));
        }
        Self {
            trip: name,
            identity: TripIdentity::default(),
            copied: 0,
            bytes: 0,
            present: 0,
            running: false,
            missing: Vec::new(),
            doubts: trip.doubts.clone(),
            notes,
        }
    }

    fn event(&self) -> PullEvent<'_> {
        PullEvent::Trip {
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
    source: &mut dyn TripSource,
    card: Option<&str>,
    trip: &SourceTrip,
    place: &LibraryPlace,
    report: &mut PullReport,
) -> Result<()> {
    let Some(card) = card else {
        return Ok(());
    };
    if report.is_doubtful() || report.running || !trip.is_under_its_name() {
        return Ok(());
    }
    let sums = ChecksumList::read(&place.path)?;
    match receipt::write_receipt(source, card, trip, &sums) {
        Ok(_) => Ok(()),
        Err(error) if is_gone(&error) => Err(error),
        Err(error) => {
            report.notes.push(format!(
                "the receipt was not written, so the board will keep the trip: {}",
                error_message(&error)
            ));
            Ok(())
        }
    }
}
