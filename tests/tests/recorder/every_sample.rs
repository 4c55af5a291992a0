//! Everything played through ALSA's file plugin, which changes no bit, is recorded.

use jumpseat_core::journal::JournalEvent;
use jumpseat_simulator::scenario;
use jumpseat_simulator::script;
use jumpseat_tests::live::LiveDrive;
use jumpseat_tests::stage::{GpsConnection, SoundConnection};
use jumpseat_trip::SegmentState;

use crate::samples::{compare, offset};

#[test]
fn a_short_drive_is_recorded_bit_for_bit_and_closed_in_order() {
    let folder = tempfile::tempdir().unwrap();
    let scenario = scenario::short(2);
    let mut performance = LiveDrive::prepare(
        scenario,
        SoundConnection::Fifo,
        GpsConnection::Gpsd,
        folder.path(),
    )
    .unwrap();
    performance.play(performance.truth.length_s).unwrap();
    assert_eq!(performance.stop().unwrap(), Some(0));

    let trip = performance.stage.board.trip().unwrap();
    assert!(trip.damage().is_empty(), "{:?}", trip.damage());
    assert!(trip.ended_in_order());
    assert!(
        trip.segments()
            .iter()
            .all(|segment| segment.state == SegmentState::Closed)
    );
    let gaps = trip
        .records()
        .iter()
        .filter(|record| matches!(record.event, JournalEvent::Gap { .. }))
        .count();
    assert_eq!(gaps, 0);
    let (compared, last) = compare(&trip, &performance.script);
    let played = script::read_sound(&performance.script).unwrap().len();
    // The last fifth of a second may not have arrived at the stop.
    assert!(last + 3_200 >= played, "{last} of {played}");
    assert_eq!(compared, last + 1);

    // The cuts are where the key moved, within the 20 ms periods of the sound.
    let cuts: Vec<u64> = trip
        .segments()
        .iter()
        .skip(1)
        .map(|segment| segment.first_sample)
        .collect();
    let begins = offset(&trip, &script::read_sound(&performance.script).unwrap());
    let contact = &performance.truth.contacts[0];
    let keyed = [&contact.overs[0], &contact.overs[2]];
    let edges: Vec<f64> = keyed
        .iter()
        .flat_map(|over| [over.from_s, over.to_s])
        .collect();
    assert_eq!(cuts.len(), edges.len());
    let errors_ms: Vec<f64> = cuts
        .iter()
        .zip(&edges)
        .map(|(cut, edge)| ((*cut as i64 - begins) as f64 / 16.0) - edge * 1e3)
        .collect();
    assert!(
        errors_ms.iter().all(|error| error.abs() < 60.0),
        "{errors_ms:?}"
    );
    println!(
        "figure: recorder: {compared} samples of {played} played, all equal bit for bit, no gap; cuts at key edges {}",
        errors_ms
            .iter()
            .map(|error| format!("{error:+.0} ms"))
            .collect::<Vec<_>>()
            .join(", ")
    );
}
