//! Sound files that nobody closed, that are short, missing, or something else.

use std::fs;
use std::path::Path;

use jumpseat_core::journal::{AudioDirection, JournalEvent};
use jumpseat_trip::{SegmentState, Trip, TripError};

use crate::folder::{TestTripFolder, damage_of, ramp};

/// Spoils the second segment (samples 32,000 to 48,000) of a whole trip.
#[track_caller]
fn check(spoil: impl Fn(&Path), state: SegmentState, count: u64, expected: &str) -> Trip {
    let folder = TestTripFolder::whole();
    let path = folder.audio(2, AudioDirection::Tx);
    spoil(&path);
    let trip = folder.open().unwrap();
    let segment = &trip.segments()[1];
    assert_eq!((segment.state, segment.count), (state, count));
    let damage = damage_of(&trip);
    assert!(damage.iter().any(|d| d.contains(expected)), "{damage:?}");
    if state != SegmentState::Missing {
        assert_eq!(trip.read_segment(2).unwrap(), ramp(32_000, count));
    }
    assert_eq!(trip.read_segment(1).unwrap(), ramp(0, 32_000));
    trip
}

fn cut(path: &Path, bytes: u64) {
    let file = fs::OpenOptions::new().write(true).open(path).unwrap();
    file.set_len(bytes).unwrap();
}

#[test]
fn a_short_file_is_read_as_far_as_it_goes() {
    // 44 bytes of header, then 100 samples and half of another.
    check(
        |path| cut(path, 44 + 201),
        SegmentState::Salvaged,
        100,
        "000002-tx.wav: 100 samples found where the journal has 16000; the rest is lost",
    );
}

#[test]
fn a_wrong_length_in_the_header_costs_nothing() {
    check(
        |path| {
            let mut bytes = fs::read(path).unwrap();
            bytes[40..44].fill(0);
            fs::write(path, bytes).unwrap();
        },
        SegmentState::Closed,
        16_000,
        "the file's header says 0 samples, the journal 16000; the audio itself is complete",
    );
}

#[test]
fn a_missing_file_is_told_with_what_is_lost() {
    let trip = check(
        |path| fs::remove_file(path).unwrap(),
        SegmentState::Missing,
        16_000,
        "audio/000002-tx.wav: the file is missing; 16000 samples are lost",
    );
    assert!(matches!(
        trip.read_segment(2),
        Err(TripError::SegmentMissing { .. })
    ));
    assert!(matches!(
        trip.read_segment(9),
        Err(TripError::NoSegment { number: 9, .. })
    ));
}

#[test]
fn what_is_no_wav_is_told_and_costs_that_file() {
    for (bytes, expected) in [
        (&b""[..], "the file is empty"),
        (b"hello, this is not a sound file", "does not begin as a WAV"),
        (&[0; 2000], "does not begin as a WAV"),
        (b"RIFF\0\0\0\0WAVEfmt ", "its header stops in the middle"),
        (
            b"RIFF\0\0\0\0WAVEdata\0\0\0\0",
            "its audio comes before its format",
        ),
        (
            b"RIFF\0\0\0\0WAVEjunk\x04\0\0\0abcd",
            "it has no audio in it",
        ),
        (
            b"RIFF\0\0\0\0WAVEfmt \x10\0\0\0\x01\0\x02\0\x80\x3e\0\0\0\0\0\0\x04\0\x10\0data\0\0\0\0",
            "it holds 16000 Hz, 16 bits, 2 channels",
        ),
        (
            b"RIFF\0\0\0\0WAVEfmt \x10\0\0\0\x03\0\x01\0\x80\x3e\0\0\0\0\0\0\x04\0\x20\0data\0\0\0\0",
            "of kind 3, not plain PCM",
        ),
    ] {
        check(
            |path| fs::write(path, bytes).unwrap(),
            SegmentState::Missing,
            16_000,
            expected,
        );
    }
}

#[test]
fn what_the_system_does_not_let_one_read_costs_that_file() {
    check(
        |path| {
            fs::remove_file(path).unwrap();
            fs::create_dir(path).unwrap();
        },
        SegmentState::Missing,
        16_000,
        "000002-tx.wav: this file does not belong to the trip",
    );
}

#[test]
fn a_missing_file_that_was_never_closed_ends_where_the_next_begins() {
    let mut folder = TestTripFolder::whole();
    folder.without(|event| matches!(event, JournalEvent::SegmentClosed { segment: 2, .. }));
    fs::remove_file(folder.audio(2, AudioDirection::Tx)).unwrap();
    let trip = folder.open().unwrap();
    let segment = &trip.segments()[1];
    assert_eq!(
        (segment.state, segment.first_sample, segment.count),
        (SegmentState::Missing, 32_000, 16_000)
    );
    assert!(damage_of(&trip)[0].contains("how much audio it held is not known"));
}

/// The recorder was killed in the last segment: no record closes it, and these
/// are the lengths in its file's header.
#[track_caller]
fn killed(riff_length: u32, data_length: u32, odd: bool) {
    let mut folder = TestTripFolder::whole();
    folder.without(|event| {
        matches!(
            event,
            JournalEvent::Shutdown { .. } | JournalEvent::SegmentClosed { segment: 3, .. }
        )
    });
    let path = folder.audio(3, AudioDirection::Rx);
    let mut bytes = fs::read(&path).unwrap();
    bytes[4..8].copy_from_slice(&riff_length.to_le_bytes());
    bytes[40..44].copy_from_slice(&data_length.to_le_bytes());
    if odd {
        bytes.push(7);
    }
    fs::write(&path, &bytes).unwrap();
    let trip = folder.open().unwrap();
    let segment = &trip.segments()[2];
    assert_eq!(
        (segment.state, segment.count),
        (SegmentState::Salvaged, 16_000)
    );
    assert_eq!(trip.read_segment(3).unwrap(), ramp(48_000, 16_000));
    assert_eq!(
        damage_of(&trip),
        [
            "audio/000003-rx.wav: the recorder stopped while it wrote this file; \
             the 16000 samples in it were kept"
        ]
    );
    // Readers never write to a file that was not closed.
    assert_eq!(fs::read(&path).unwrap(), bytes);
}

#[test]
fn a_killed_recorders_file_is_read_to_its_end_whatever_its_header_says() {
    killed(0, 0, false);
    killed(36, 0, true);
    // Flushed once, then more was written.
    killed(36 + 20_000, 20_000, false);
    killed(u32::MAX, u32::MAX, false);
    killed(36 + 32_000, 32_000, false);
}

#[test]
fn a_file_whose_records_are_lost_is_placed_between_its_neighbours() {
    let mut folder = TestTripFolder::whole();
    folder.without(|event| {
        matches!(
            event,
            JournalEvent::SegmentOpened { segment: 2, .. }
                | JournalEvent::SegmentClosed { segment: 2, .. }
        )
    });
    let trip = folder.open().unwrap();
    let segment = &trip.segments()[1];
    assert_eq!((segment.number, segment.first_sample), (2, 32_000));
    assert_eq!(segment.state, SegmentState::Salvaged);
    assert!(damage_of(&trip)[0].contains("its 16000 samples were placed between"));
}

#[test]
fn extra_files_are_told_and_left_alone() {
    let folder = TestTripFolder::whole();
    for name in ["notes.txt", "audio/readme", "audio/000001-zz.wav"] {
        fs::write(folder.path.join(name), "mine").unwrap();
    }
    fs::write(folder.path.join(".hidden"), "the system's").unwrap();
    let trip = folder.open().unwrap();
    assert_eq!(
        damage_of(&trip),
        ["notes.txt", "audio/000001-zz.wav", "audio/readme"].map(|name| format!(
            "{name}: this file does not belong to the trip; it was left alone"
        ))
    );
}

#[test]
fn a_span_runs_across_segments_and_tells_what_is_not_there() {
    let folder = TestTripFolder::whole();
    let trip = folder.open().unwrap();
    // Transmit audio stands between the two receive segments.
    let span = trip.read_span(AudioDirection::Rx, 31_000, 18_000).unwrap();
    assert_eq!(span.samples[..1_000], ramp(31_000, 1_000));
    assert!(
        span.samples[1_000..17_000]
            .iter()
            .all(|&sample| sample == 0)
    );
    assert_eq!(span.samples[17_000..], ramp(48_000, 1_000));
    let lost: Vec<_> = span
        .lost
        .iter()
        .map(|l| (l.first_sample, l.count))
        .collect();
    assert_eq!(lost, [(32_000, 16_000)]);

    let beyond = trip.read_span(AudioDirection::Rx, 63_000, 2_000).unwrap();
    assert_eq!(beyond.samples[..1_000], ramp(63_000, 1_000));
    assert_eq!(beyond.lost[0].count, 1_000);
    assert!(matches!(
        trip.read_span(AudioDirection::Rx, 0, u64::MAX),
        Err(TripError::SpanTooLong { .. })
    ));
}
