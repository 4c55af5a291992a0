//! What a board does after its card failed for a moment, and what a long press takes back.

use std::fs;

use jumpseat_core::journal::{AudioDirection, JournalEvent};

use crate::folder::{START, TestTripFolder, ramp, write_wav};

/// A journal broken off after `kept` lines and some bytes, and gone on in a second
/// file from line `again` on (both counted from 0).
#[track_caller]
fn check(kept: usize, again: usize, damage: usize) {
    let whole = TestTripFolder::whole();
    let expected = whole.open().unwrap();
    let lines = whole.lines();
    let mut first = lines[..kept].concat();
    first.extend_from_slice(&lines[kept][..20]);
    fs::write(whole.path.join("journal-2.jsonl"), lines[again..].concat()).unwrap();
    let trip = whole.open_with(&first).unwrap();
    assert_eq!(trip.damage().len(), damage, "{:?}", trip.damage());
    if damage == 0 {
        assert_eq!(trip.records(), expected.records());
    }
}

#[test]
fn a_journal_that_goes_on_in_a_second_file_is_one_journal() {
    check(5, 5, 0);
    check(6, 3, 0);
    // Two records stand in neither.
    check(5, 7, 1);
}

#[test]
fn an_abandoned_segment_counts_up_to_its_safe_samples() {
    let mut folder = TestTripFolder::new();
    folder.segment(1, AudioDirection::Rx, 0, 20_000);
    folder.without(|event| matches!(event, JournalEvent::SegmentClosed { .. }));
    let abandoned = JournalEvent::SegmentAbandoned {
        segment: 1,
        direction: AudioDirection::Rx,
        first_sample: 0,
        count: 16_000,
    };
    folder.event(1.0, abandoned);
    folder.segment(2, AudioDirection::Rx, 16_000, 16_000);
    // Its last part is not what was written.
    let mut samples = ramp(0, 16_000);
    samples.extend([0; 4_000]);
    write_wav(&folder.audio(1, AudioDirection::Rx), &samples);
    let trip = folder.open().unwrap();
    assert!(trip.damage().is_empty(), "{:?}", trip.damage());
    assert_eq!(trip.segments()[0].count, 16_000);
    let span = trip.read_span(AudioDirection::Rx, 0, 32_000).unwrap();
    assert_eq!(span.samples, ramp(0, 32_000));
}

#[test]
fn a_mark_that_was_taken_back_does_not_count() {
    let mut folder = TestTripFolder::whole();
    let own_ns = START + 3_500_000_000;
    folder.event(3.5, JournalEvent::Mark {});
    folder.event(5.5, JournalEvent::MarkWithdrawn { mark_ns: own_ns });
    let trip = folder.open().unwrap();
    assert_eq!(trip.marks(), [START + 3_200_000_000]);
}
