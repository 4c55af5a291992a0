//! Reads what is left on a card, as the home computer does.

use std::fs;
use std::path::{Path, PathBuf};

use jumpseat_memory_card::CardContents;
use jumpseat_trip::{SegmentState, Trip};

use crate::drive::{CardPromise, frame};
use jumpseat_core::journal::AudioDirection;

/// What is left of one trip.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct TripRemains {
    /// The trip could not be read.
    pub(crate) damaged: bool,
    /// Samples without their true value, up to the last that was fed.
    pub(crate) lost: u64,
    /// Promised records that are missing.
    pub(crate) broken: Vec<CardPromise>,
    /// The recorder ended it properly.
    pub(crate) ended_in_order: bool,
    /// The damage as reported to a person.
    pub(crate) damage: Vec<String>,
}

/// Writes the files of a card into a folder, for the home tools.
pub(crate) fn unpack(shape: &CardContents, into: &Path) {
    for (path, bytes) in shape {
        let path = into.join(path);
        match bytes {
            None => fs::create_dir(path).unwrap(),
            Some(bytes) => fs::write(path, bytes).unwrap(),
        }
    }
}

/// The trip folders of a card, oldest first.
pub(crate) fn trips(shape: &CardContents) -> Vec<PathBuf> {
    let folder = |path: &&PathBuf| {
        path.components().count() == 1 && path.to_string_lossy().starts_with("trip-")
    };
    shape
        .iter()
        .filter(|(_, bytes)| bytes.is_none())
        .map(|(path, _)| path)
        .filter(folder)
        .cloned()
        .collect()
}

/// Judges one trip: `fed` samples were passed in, the records `owed` were promised.
pub(crate) fn judge<'a>(
    trip: &Path,
    fed: u64,
    owed: impl Iterator<Item = &'a CardPromise>,
) -> TripRemains {
    let trip = match Trip::open(trip) {
        Ok(trip) => trip,
        Err(error) => {
            return TripRemains {
                damaged: true,
                lost: fed,
                broken: owed.cloned().collect(),
                damage: vec![error.to_string()],
                ..TripRemains::default()
            };
        }
    };
    let mut there = vec![false; fed as usize];
    for segment in trip.segments() {
        if segment.state == SegmentState::Missing {
            continue;
        }
        let samples = trip.read_segment(segment.number).unwrap_or_default();
        for (place, sample) in (segment.first_sample..).zip(samples) {
            let fed = frame(place);
            let value = match segment.direction {
                AudioDirection::Rx => fed.rx,
                AudioDirection::Tx => fed.tx,
            };
            if let Some(there) = there.get_mut(place as usize) {
                *there |= sample == value;
            }
        }
    }
    let has = |promise: &&CardPromise| {
        !trip
            .records()
            .iter()
            .any(|record| record.event == promise.event && record.mono_ns == promise.mono_ns)
    };
    TripRemains {
        damaged: false,
        lost: there.iter().filter(|there| !**there).count() as u64,
        broken: owed.filter(has).cloned().collect(),
        ended_in_order: trip.ended_in_order(),
        damage: trip.damage().iter().map(ToString::to_string).collect(),
    }
}
