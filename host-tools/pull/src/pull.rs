//! Pulls every trip of a source into the library.

use std::path::Path;
use std::time::{Duration, Instant};

use jumpseat_trip::name_on_board;

use crate::checksums::ChecksumList;
use crate::error::PullError;
use crate::event::{PullEvent, PullListener};
use crate::find::{SourceTrips, find_trips};
use crate::identity::read_identity;
use crate::lease::hold_lease;
use crate::library::{LibraryPlace, TripLibrary, has_all_files};
use crate::progress::PullProgress;
use crate::receipt::write_receipt;
use crate::report::{MissingFile, PullReport};
use crate::source::{FolderSource, TripSource, connect_to_board};
use crate::source_trip::SourceTrip;
use crate::transfer::{TransferOptions, may_be_running, transfer_trip};

/// What to pull, and how.
#[derive(Debug, Clone, Copy)]
pub struct PullRequest<'a> {
    /// A folder, or `ssh://[user@]host[:port][/path]`.
    pub source: &'a str,
    /// The folder that holds the trips at home; it is made where there is none.
    pub library: &'a Path,
    /// Read and compare the files that are in the library already.
    pub verify: bool,
    /// A configuration file for ssh in place of the usual ones.
    pub ssh_config: Option<&'a Path>,
    /// Bytes that the source may hold at most.
    pub at_most: u64,
    /// How long a board may be silent before the pull gives it up.
    pub patience: Duration,
}

/// Copies the trips of a source into the library. `reports` receives a report for each
/// trip that was gone through, also when the pull ends with an error.
///
/// # Errors
/// When the source cannot be read, or not to its end, or when the library cannot be
/// written. A file that cannot be read is no error: it is in its trip's report.
pub fn pull(
    request: &PullRequest<'_>,
    listener: &dyn PullListener,
    reports: &mut Vec<PullReport>,
) -> Result<(), PullError> {
    let mut source: Box<dyn TripSource> = if request.source.starts_with("ssh://") {
        let (config, patience) = (request.ssh_config, request.patience);
        connect_to_board(request.source, config, patience)?
    } else {
        Box::new(FolderSource::new(Path::new(request.source)))
    };
    pull_from(source.as_mut(), request, listener, reports)
}

/// As [`pull`], from a source that is open already.
///
/// # Errors
/// As [`pull`].
pub fn pull_from(
    source: &mut dyn TripSource,
    request: &PullRequest<'_>,
    listener: &dyn PullListener,
    reports: &mut Vec<PullReport>,
) -> Result<(), PullError> {
    let begun = Instant::now();
    let SourceTrips { trips: found, card } = find_trips(source)?;
    let mut library = TripLibrary::open(request.library)?;
    let total = total_bytes(source, &found, request.at_most)?;
    let mut trips = Vec::new();
    for trip in found {
        let place = library.place(source, &trip)?;
        trips.push((trip, place));
    }
    library.check_free_space(&trips)?;
    let progress = PullProgress::new(total, listener);
    progress.event(&PullEvent::Found {
        source: request.source,
        trips: trips.len(),
        files: trips.iter().map(|(trip, _)| trip.files.len()).sum(),
        bytes: total,
    })?;
    let mut lease = None;
    for (number, (trip, place)) in trips.iter().enumerate() {
        // An earlier one may be the same trip, or have taken its name.
        let same_name = |(before, _): &(SourceTrip, LibraryPlace)| before.name == trip.name;
        let place = if trips[..number].iter().any(same_name) {
            &library.place(source, trip)?
        } else {
            place
        };
        let mut report = new_report(trip, place);
        if let Some(card) = &card
            && lease.is_none()
            && !has_all_files(trip, place)
        {
            lease = Some(hold_lease(source, card, &mut report));
        }
        let options = TransferOptions {
            verify: request.verify,
            may_be_running: may_be_running(
                trip,
                trips.iter().map(|(trip, _)| trip),
                lease.flatten(),
            ),
            progress: &progress,
        };
        transfer_trip(source, trip, (&library, place), options, &mut report)?;
        library.add_arrived(place);
        confirm_trip(source, card.as_deref(), trip, place, &mut report)?;
        report.identity = read_identity(&place.path);
        progress.event(&trip_event(&report))?;
        reports.push(report);
    }
    let missing: Vec<&MissingFile> = reports.iter().flat_map(|report| &report.missing).collect();
    progress.event(&PullEvent::End {
        trips: reports.len(),
        copied: reports.iter().map(|report| report.copied).sum(),
        bytes: reports.iter().map(|report| report.bytes).sum(),
        seconds: begun.elapsed().as_secs_f64(),
        doubts: reports.iter().any(PullReport::is_doubtful),
        failed: &missing,
    })
}

/// The bytes of all trips, unless they exceed the limit.
fn total_bytes(
    source: &dyn TripSource,
    trips: &[SourceTrip],
    at_most: u64,
) -> Result<u64, PullError> {
    let files = trips.iter().flat_map(|trip| &trip.files);
    // A hostile source may state lengths whose sum does not fit.
    let total = files.fold(0, |sum: u64, file| sum.saturating_add(file.bytes));
    if total > at_most {
        let place = source.display_path("");
        return Err(PullError::TooLarge { place, total });
    }
    Ok(total)
}

fn new_report(trip: &SourceTrip, place: &LibraryPlace) -> PullReport {
    let name = place.name();
    let mut notes = trip.notes.clone();
    if !place.is_known && name_on_board(&name) != name {
        notes.push(format!(
            "the library already has a trip {} from another card or board; this one is stored as \
             {name}",
            trip.name
        ));
    }
    PullReport::new(name, trip.doubts.clone(), notes)
}

fn trip_event(report: &PullReport) -> PullEvent<'_> {
    PullEvent::Trip {
        trip: &report.trip,
        board: report.identity.board.as_deref(),
        operator: report.identity.operator(),
        copied: report.copied,
        bytes: report.bytes,
        present: report.present,
        doubts: &report.doubts,
        notes: &report.notes,
    }
}

/// Writes the receipt of a trip that is in the library without any doubt.
fn confirm_trip(
    source: &mut dyn TripSource,
    card: Option<&str>,
    trip: &SourceTrip,
    place: &LibraryPlace,
    report: &mut PullReport,
) -> Result<(), PullError> {
    let Some(card) = card else {
        return Ok(());
    };
    if report.is_doubtful() || report.running || !trip.is_under_its_name() {
        return Ok(());
    }
    let checksums = ChecksumList::read(&place.path)?;
    match write_receipt(source, card, trip, &checksums) {
        Ok(()) => Ok(()),
        Err(error) if error.is_source_gone() => Err(error),
        Err(error) => {
            report.notes.push(format!(
                "the receipt was not written, so the board will keep the trip: {}",
                error.message()
            ));
            Ok(())
        }
    }
}
