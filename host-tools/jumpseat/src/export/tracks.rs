//! The ways that were driven, from the trips in the library.

use jumpseat_entries::Entry;
use jumpseat_formats::gpx::{GpxPoint, GpxTrack};
use jumpseat_trip::{Track as Fixes, Trip};

use crate::clock;
use crate::home::HomeFolder;

/// Without a fix for longer than this the line is broken: it would not follow
/// the road. One minute, common sense.
const TRACK_GAP_NS: u64 = 60_000_000_000;

/// The way of every trip that the entries belong to, and what is missing.
pub(super) fn of(home: &HomeFolder, entries: &[Entry]) -> (Vec<GpxTrack>, Vec<String>) {
    let mut names: Vec<&str> = entries
        .iter()
        .filter_map(|entry| entry.trip.as_deref())
        .collect();
    names.sort_unstable();
    names.dedup();
    let (mut tracks, mut doubts) = (Vec::new(), Vec::new());
    for name in names {
        match home.open_trip(name) {
            Ok(trip) => tracks.push(way(&trip)),
            Err(error) => doubts.push(format!("the way of {name} is not in it: {error}")),
        }
    }
    (tracks, doubts)
}

fn way(trip: &Trip) -> GpxTrack {
    let timeline = clock::timeline(trip);
    let mut pieces: Vec<Vec<GpxPoint>> = Vec::new();
    let mut last: Option<u64> = None;
    for (mono_ns, at) in Fixes::of(trip).points() {
        let point = GpxPoint {
            lat: at.lat,
            lon: at.lon,
            time: timeline.at_mono(mono_ns).value,
        };
        let near = last.is_some_and(|last| mono_ns - last <= TRACK_GAP_NS);
        match pieces.last_mut().filter(|_| near) {
            Some(piece) => piece.push(point),
            None => pieces.push(vec![point]),
        }
        last = Some(mono_ns);
    }
    GpxTrack {
        name: trip.id().to_owned(),
        pieces,
    }
}
