//! No sample was lost: the marker tones are as long, and as far apart, as they were played.

use std::path::Path;

use jumpseat_core::journal::{AudioDirection, JournalEvent};
use jumpseat_simulator::truth::DriveTruth;
use jumpseat_tests::marker::{self, MarkerTone};
use jumpseat_trip::Trip;

/// Half a period of the tone at 16 kHz: what the edge of a tone that has been
/// through a change of rate may be off by.
const EDGE_SAMPLES: u64 = 8;

/// Gives the samples between the tones.
pub(crate) fn check(name: &str, trip: &Trip, truth: &DriveTruth) -> u64 {
    assert!(trip.damage().is_empty(), "{:?}", trip.damage());
    assert!(trip.ended_in_order());
    let gaps: Vec<&JournalEvent> = trip
        .records()
        .iter()
        .map(|record| &record.event)
        .filter(|event| matches!(event, JournalEvent::Gap { .. }))
        .collect();
    assert!(gaps.is_empty(), "{gaps:?}");
    // Segments follow each other without a break or an overlap.
    for pair in trip.segments().windows(2) {
        assert_eq!(pair[0].end(), pair[1].first_sample);
    }
    let markers = truth.markers.unwrap();
    let (first, last) = tones(trip);
    let length = (markers.length_s * 16_000.0) as u64;
    let apart = ((markers.last_s - markers.first_s) * 16_000.0).round() as u64;
    let measured = last.first_sample - first.first_sample;
    for tone in [first, last] {
        assert!(
            tone.length_samples.abs_diff(length) <= EDGE_SAMPLES,
            "{tone:?}, not {length} samples long"
        );
    }
    assert!(
        measured.abs_diff(apart) <= EDGE_SAMPLES,
        "{measured} samples between the tones, not {apart}"
    );
    println!(
        "figure: {name}: no gap; marker tones {} and {} samples long ({length} played), {measured} samples apart ({apart} played)",
        first.length_samples, last.length_samples
    );
    measured
}

/// `arecord` on the same device heard the same number of samples.
pub(crate) fn check_peer(name: &str, wav: &Path, rate: u32, apart: u64) {
    let mut reader = hound::WavReader::open(wav).unwrap();
    let heard: Vec<i16> = reader
        .samples::<i16>()
        .map(Result::unwrap)
        .step_by(2)
        .collect();
    let (first, last) = marker::find(&heard, 0, 2_000, rate as usize / 10).unwrap();
    let times = u64::from(rate / 16_000);
    let theirs = last.first_sample - first.first_sample;
    assert!(
        theirs.abs_diff(apart * times) <= EDGE_SAMPLES * times,
        "arecord: {theirs} samples, recorder: {apart}"
    );
    println!(
        "figure: {name}: arecord at {rate} Hz has {theirs} samples between them, {:.1} at 16 kHz",
        theirs as f64 / times as f64
    );
}

/// The tones in the received sound, by sample count of the trip.
fn tones(trip: &Trip) -> (MarkerTone, MarkerTone) {
    let mut sound = Vec::new();
    for segment in trip.segments() {
        let samples = trip.read_segment(segment.number).unwrap();
        match segment.direction {
            AudioDirection::Rx => sound.extend(samples),
            AudioDirection::Tx => sound.extend(std::iter::repeat_n(0, samples.len())),
        }
    }
    let from = trip.segments().first().unwrap().first_sample;
    marker::find(&sound, from, 2_000, 1_600).unwrap()
}
