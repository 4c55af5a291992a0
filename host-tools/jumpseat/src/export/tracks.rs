//! The tracks of the drives, from the trips in the library.

use jumpseat_entries::Entry;
use jumpseat_formats::gpx::{GpxPoint, GpxTrack};
use jumpseat_trip::{Track, Trip};
use jumpseat_values::Position;

use crate::clock;
use crate::home::HomeFolder;

/// The track of each trip that the entries belong to, and what is missing.
pub(super) fn tracks_of(home: &HomeFolder, entries: &[Entry]) -> (Vec<GpxTrack>, Vec<String>) {
    let mut names: Vec<&str> = entries
        .iter()
        .filter_map(|entry| entry.trip.as_deref())
        .collect();
    names.sort_unstable();
    names.dedup();
    let (mut tracks, mut doubts) = (Vec::new(), Vec::new());
    for name in names {
        match home.open_trip(name) {
            Ok(trip) => tracks.push(track_of(&trip)),
            Err(error) => doubts.push(format!("the track of {name} is missing: {error}")),
        }
    }
    (tracks, doubts)
}

fn track_of(trip: &Trip) -> GpxTrack {
    let timeline = clock::timeline(trip);
    let point = |(mono_ns, at): (u64, Position)| GpxPoint {
        lat: at.lat(),
        lon: at.lon(),
        time: timeline.at_mono(mono_ns).value,
    };
    let lines = Track::of(trip).lines().into_iter();
    GpxTrack {
        name: trip.id().to_owned(),
        pieces: lines
            .map(|line| line.into_iter().map(point).collect())
            .collect(),
    }
}
