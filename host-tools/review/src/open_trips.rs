//! Open trips: each is read once and kept while it is looked at.

use std::fs;
use std::path::Path;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::SystemTime;

use chrono::{DateTime, Utc};
use jumpseat_draft::AssemblyInput;
use jumpseat_entries::TripTranscript;
use jumpseat_entries::resolve::TripInstants;
use jumpseat_trip::{DialHistory, Timeline, Track, Trip};
use jumpseat_values::{DialSetting, Estimate, Position};
use serde::de::DeserializeOwned;

use crate::view::TripOverview;
use crate::{BackendError, ReviewBackend};

/// How many trips stay open; the page shows one at a time.
const MAX_OPEN_TRIPS: usize = 2;

/// A trip and what was derived from it.
#[derive(Debug)]
pub(crate) struct OpenTrip {
    pub(crate) trip: Trip,
    pub(crate) timeline: Timeline,
    /// What drafting heard; `None` if it kept nothing that can be read.
    pub(crate) drive: Option<AssemblyInput>,
    /// What was said in the overs of its entries, if that was written down.
    pub(crate) transcript: Option<TripTranscript>,
    pub(crate) glance: TripOverview,
    stamp: TripFileStamps,
    name: String,
}

/// Lengths and times of the files that an open trip was read from.
type TripFileStamps = Vec<(u64, Option<SystemTime>)>;

impl OpenTrip {
    /// Samples a second.
    pub(crate) fn rate(&self) -> f64 {
        f64::from(self.trip.header().audio.sample_rate)
    }

    /// The monotonic time of a second of the trip.
    pub(crate) fn mono(&self, at_s: f64) -> u64 {
        // Seconds of a trip times its rate are far below 2^53.
        let sample = (at_s.max(0.0) * self.rate()) as u64;
        self.timeline.mono_of_sample(sample)
    }
}

impl TripInstants for OpenTrip {
    fn time_at(&self, at_s: f64) -> Estimate<DateTime<Utc>> {
        self.timeline
            .at_sample((at_s.max(0.0) * self.rate()) as u64)
    }

    fn place_at(&self, at_s: f64) -> Estimate<Position> {
        Track::of(&self.trip).at_mono(self.mono(at_s))
    }

    fn dial_at(&self, at_s: f64) -> Estimate<DialSetting> {
        DialHistory::of(&self.trip).at_mono(self.mono(at_s))
    }
}

/// The open trips.
#[derive(Debug, Default)]
pub(crate) struct OpenTrips(Mutex<Vec<Arc<OpenTrip>>>);

impl OpenTrips {
    /// A trip of the library with this name; `None` if there is none. Only names that the
    /// library lists are opened.
    pub(crate) fn open(
        &self,
        backend: &dyn ReviewBackend,
        name: &str,
    ) -> Result<Option<Arc<OpenTrip>>, BackendError> {
        let folders = backend.trips()?;
        let Some(folder) = folders.into_iter().find(|folder| name_of(folder) == name) else {
            return Ok(None);
        };
        let drive = backend.drive_file(name);
        let transcript = backend.transcript_file(name);
        let stamp = stamp(&folder, &drive, &transcript);
        let mut open = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(at) = open
            .iter()
            .position(|open| open.name == name && open.stamp == stamp)
        {
            let found = open.remove(at);
            open.push(Arc::clone(&found));
            return Ok(Some(found));
        }
        // Opened under the lock: two requests for one trip read it once.
        let trip = Trip::open(&folder).map_err(BackendError::of)?;
        let timeline = backend.timeline(&trip);
        let drive = read(&drive);
        let transcript = read(&transcript).filter(TripTranscript::is_known_format);
        let glance = TripOverview::of(&trip, &timeline, drive.as_ref());
        let new = Arc::new(OpenTrip {
            trip,
            timeline,
            drive,
            transcript,
            glance,
            stamp,
            name: name.to_owned(),
        });
        open.retain(|open| open.name != name);
        open.push(Arc::clone(&new));
        if open.len() > MAX_OPEN_TRIPS {
            open.remove(0);
        }
        Ok(Some(new))
    }
}

/// A folder's own name.
pub(crate) fn name_of(folder: &Path) -> String {
    let name = folder.file_name().unwrap_or_default();
    name.to_string_lossy().into_owned()
}

fn stamp(folder: &Path, drive: &Path, transcript: &Path) -> TripFileStamps {
    let journal = folder.join("journal.jsonl");
    let audio = folder.join("audio");
    [&journal, &audio, drive, transcript]
        .map(|file: &Path| {
            let data = fs::metadata(file);
            data.map_or((0, None), |data| (data.len(), data.modified().ok()))
        })
        .into()
}

/// What drafting kept. `None` if there is nothing or it cannot be read; the page says so.
fn read<T: DeserializeOwned>(file: &Path) -> Option<T> {
    serde_json::from_slice(&fs::read(file).ok()?).ok()
}
