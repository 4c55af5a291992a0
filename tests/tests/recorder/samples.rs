//! Compares recorded samples with those that were played.

use std::path::Path;

use jumpseat_core::journal::AudioDirection;
use jumpseat_simulator::script;
use jumpseat_trip::{SegmentState, Trip};

/// Sample count of the trip at which the script's sound begins: found from the first marker
/// tone, verified by every sample in [`compare`].
pub(crate) fn offset(trip: &Trip, played: &[[i16; 2]]) -> i64 {
    let first_loud = |sound: &[i16]| {
        sound
            .iter()
            .position(|sample| sample.unsigned_abs() > 2_000)
    };
    let received: Vec<i16> = played.iter().map(|[rx, _]| *rx).collect();
    let segment = trip
        .segments()
        .iter()
        .find(|segment| segment.direction == AudioDirection::Rx)
        .unwrap();
    let recorded = trip.read_segment(segment.number).unwrap();
    let in_trip = segment.first_sample as i64 + first_loud(&recorded).unwrap() as i64;
    in_trip - first_loud(&received).unwrap() as i64
}

/// Compares every sample in every segment with what was played; returns how many there
/// were, and the last one's place in the script.
pub(crate) fn compare(trip: &Trip, script: &Path) -> (usize, usize) {
    let played = script::read_sound(script).unwrap();
    let offset = offset(trip, &played);
    let (mut compared, mut last) = (0, 0);
    for segment in trip.segments() {
        assert_ne!(segment.state, SegmentState::Missing, "{segment:?}");
        let channel = usize::from(segment.direction == AudioDirection::Tx);
        for (index, sample) in trip
            .read_segment(segment.number)
            .unwrap()
            .iter()
            .enumerate()
        {
            let place = segment.first_sample as i64 + index as i64 - offset;
            let Some(pair) = usize::try_from(place)
                .ok()
                .and_then(|place| played.get(place))
            else {
                continue;
            };
            assert_eq!(
                *sample, pair[channel],
                "segment {} sample {index}",
                segment.number
            );
            compared += 1;
            last = last.max(place as usize);
        }
    }
    (compared, last)
}
