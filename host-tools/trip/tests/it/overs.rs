//! Segments to overs.

use std::fs;

use jumpseat_core::journal::{AudioDirection, JournalEvent, RecorderFault};
use jumpseat_trip::AudioDirection::{Rx, Tx};

use crate::folder::TestTripFolder;

/// Direction, first sample, count, segments, lost stretches.
type OverRow = (AudioDirection, u64, u64, Vec<u32>, Vec<(u64, u64)>);

#[track_caller]
fn check(folder: &TestTripFolder, expected: &[OverRow]) {
    let overs: Vec<OverRow> = folder
        .open()
        .unwrap()
        .overs()
        .into_iter()
        .map(|over| {
            let lost = over
                .lost
                .iter()
                .map(|l| (l.first_sample, l.count))
                .collect();
            (
                over.direction,
                over.first_sample,
                over.count,
                over.segments,
                lost,
            )
        })
        .collect();
    assert_eq!(overs, expected);
}

#[test]
fn each_turn_of_the_key_is_an_over() {
    check(
        &TestTripFolder::whole(),
        &[
            (Rx, 0, 32_000, vec![1], vec![]),
            (Tx, 32_000, 16_000, vec![2], vec![]),
            (Rx, 48_000, 16_000, vec![3], vec![]),
        ],
    );
}

#[test]
fn files_of_one_turn_are_joined() {
    let mut folder = TestTripFolder::new();
    folder.segment(1, Rx, 0, 800);
    folder.segment(2, Rx, 800, 800);
    folder.segment(3, Tx, 1_600, 800);
    check(
        &folder,
        &[
            (Rx, 0, 1_600, vec![1, 2], vec![]),
            (Tx, 1_600, 800, vec![3], vec![]),
        ],
    );
}

#[test]
fn a_gap_in_the_sound_does_not_end_a_turn_but_is_known() {
    let mut folder = TestTripFolder::new();
    folder.segment(1, Rx, 0, 800);
    folder.event(
        0.1,
        JournalEvent::Gap {
            first_sample: 800,
            count: 200,
            fault: RecorderFault::Overflow,
        },
    );
    folder.segment(2, Rx, 1_000, 800);
    check(&folder, &[(Rx, 0, 1_800, vec![1, 2], vec![(800, 200)])]);
}

#[test]
fn a_key_edge_within_a_gap_ends_the_turn() {
    let mut folder = TestTripFolder::new();
    folder.segment(1, Rx, 0, 800);
    folder.event(0.06, JournalEvent::Ptt { down: true });
    folder.event(0.07, JournalEvent::Ptt { down: false });
    folder.segment(2, Rx, 1_600, 800);
    check(
        &folder,
        &[
            (Rx, 0, 800, vec![1], vec![]),
            (Rx, 1_600, 800, vec![2], vec![]),
        ],
    );
}

#[test]
fn a_missing_file_is_a_turn_without_sound() {
    let folder = TestTripFolder::whole();
    fs::remove_file(folder.audio(2, Tx)).unwrap();
    check(
        &folder,
        &[
            (Rx, 0, 32_000, vec![1], vec![]),
            (Tx, 32_000, 16_000, vec![2], vec![(32_000, 16_000)]),
            (Rx, 48_000, 16_000, vec![3], vec![]),
        ],
    );
}
