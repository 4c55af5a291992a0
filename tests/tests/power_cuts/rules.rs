//! The rules by which nothing is lost, each tested separately.

use std::path::{Path, PathBuf};

use jumpseat_core::journal::{AudioDirection, JournalEvent, RecorderFault};
use jumpseat_core::signal::OperatorSignal;
use jumpseat_memory_card::{CardContents, CutSurvival, FaultPlan, MemoryCard};
use jumpseat_recorder::config::RecorderConfig;
use jumpseat_recorder::storage::read_text;
use jumpseat_recorder::trip::TripWriter;
use jumpseat_recorder::trip_header::ConfiguredStation;
use jumpseat_trip::Trip;

use crate::drive::{BLOCKS, DriveLog, config, drive, finish, one_block, start};
use crate::remains::{judge, trips, unpack};

/// The newest trip of a card, in the returned temporary folder.
fn read(shape: &CardContents) -> (tempfile::TempDir, Trip) {
    let folder = tempfile::tempdir().unwrap();
    unpack(shape, folder.path());
    let trip = Trip::open(&folder.path().join(trips(shape).pop().unwrap())).unwrap();
    (folder, trip)
}

/// Files that the journal abandons: number, and first sample after those that count.
fn abandoned(trip: &Trip) -> Vec<(u32, u64)> {
    trip.records()
        .iter()
        .filter_map(|record| match record.event {
            JournalEvent::SegmentAbandoned {
                segment,
                first_sample,
                count,
                ..
            } => Some((segment, first_sample + count)),
            _ => None,
        })
        .collect()
}

fn bytes(shape: &CardContents, number: u32) -> Option<Vec<u8>> {
    let name = format!("{number:06}-");
    let named = |path: &&PathBuf| {
        let file = path.file_name().unwrap_or_default().to_string_lossy();
        file.starts_with(&name)
    };
    shape.get(shape.keys().find(named)?)?.clone()
}

#[test]
fn a_sync_that_failed_is_final_for_its_file_and_its_seconds_go_into_a_new_one_with_an_alarm() {
    let blocks = BLOCKS / 2;
    let whole = MemoryCard::new();
    let mut engine = start(&whole, &config()).unwrap();
    drive(&mut engine, &whole, blocks);
    let mut finals = 0;
    for at in 1..=whole.operations() {
        let card = MemoryCard::new();
        let mut engine = start(&card, &config()).unwrap();
        card.fail(Some(FaultPlan {
            at,
            for_good: false,
        }));
        let mut log = DriveLog::default();
        let mut left_as = None;
        for block in 0..blocks {
            one_block(&mut engine, &card, block, &mut log);
            if left_as.is_none() && card.operations() >= at {
                left_as = Some(card.contents());
            }
        }
        finish(engine, blocks).err();
        let after = card.contents();
        let (_folder, trip) = read(&after);
        for (number, next) in abandoned(&trip) {
            finals += 1;
            let what = format!("error at operation {at}, file {number}");
            // Not a byte of it is written after the error.
            let before = left_as.as_ref().and_then(|shape| bytes(shape, number));
            assert_eq!(bytes(&after, number), before, "{what}");
            // Another file begins with the first sample that was not synced.
            let again = trip
                .segments()
                .iter()
                .any(|segment| segment.number > number && segment.first_sample == next);
            assert!(again, "{what}: sample {next}");
            assert!(
                log.signals.contains(&OperatorSignal::CardNearlyFull),
                "{what}"
            );
            let judged = judge(trip.dir(), blocks * 320, log.promises.iter());
            assert_eq!((judged.lost, judged.broken.len()), (0, 0), "{what}");
        }
    }
    assert!(finals > 10, "{finals}");
    println!(
        "figure: {finals} files whose write or sync failed: none touched again, samples lost 0, alarm each time"
    );
}

#[test]
fn a_new_name_counts_only_after_its_directory_is_synced() {
    let card = MemoryCard::new();
    let mut engine = start(&card, &config()).unwrap();
    drive(&mut engine, &card, BLOCKS);
    finish(engine, BLOCKS).unwrap();
    let mut checked = 0;
    for at in 1..=card.operations() {
        // A name that was not synced is gone.
        let left = card.after_power_cut(at, CutSurvival::Nothing).contents();
        let Some(newest) = trips(&left).pop() else {
            continue;
        };
        // The power failed between the folder and the first name in it.
        if !left
            .keys()
            .any(|path| path.parent() == Some(newest.as_path()))
        {
            continue;
        }
        let (_folder, trip) = read(&left);
        for segment in trip.segments() {
            checked += 1;
            // Its bytes may be gone, but not its name.
            assert!(segment.path.exists(), "cut at {at}: {segment:?}");
        }
    }
    assert!(checked > 1_000, "{checked}");
}

#[test]
fn a_file_that_was_not_closed_cleanly_is_never_appended_to() {
    let card = MemoryCard::new();
    let mut engine = start(&card, &config()).unwrap();
    drive(&mut engine, &card, BLOCKS / 3);
    drop(engine);
    for at in (1..=card.operations()).step_by(5) {
        let left = card.after_power_cut(at, CutSurvival::Torn(at));
        let before = left.contents();
        let mut engine = start(&left, &config()).unwrap();
        drive(&mut engine, &left, 120);
        finish(engine, 120).unwrap();
        let after = left.contents();
        for (path, bytes) in before
            .iter()
            .filter(|(path, _)| path.starts_with("trip-000001-3fa2c1"))
        {
            assert_eq!(after.get(path), Some(bytes), "{}", path.display());
        }
    }
}

/// The records of one file of the journal, with their numbers.
fn journal(card: &mut MemoryCard, file: &Path) -> Vec<(u64, JournalEvent)> {
    let text = read_text(card, file, 1 << 20).unwrap();
    let records = jumpseat_tests::journal_file::records(&text).into_iter();
    records.map(|record| (record.seq, record.event)).collect()
}

#[test]
fn every_file_of_the_journal_says_which_trip_it_is_of() {
    let mut card = MemoryCard::new();
    let station = ConfiguredStation {
        call: Some("W7QTM".to_owned()),
        operator: None,
    };
    let boot = "9f2c41d0".try_into().unwrap();
    let storage = Box::new(card.clone());
    let mut trip =
        TripWriter::create(storage, Path::new(""), "3fa2c1", boot, station, None).unwrap();
    trip.begin(5);
    card.fail(Some(FaultPlan {
        at: card.operations() + 1,
        for_good: false,
    }));
    assert!(
        trip.record_synced(9, JournalEvent::Mark {}),
        "in another file"
    );
    assert!(trip.take_error().is_some());
    assert!(trip.record_synced(10, JournalEvent::Ptt { down: true }));
    let dir = trip.dir().to_owned();
    let first = journal(&mut card, &dir.join("journal.jsonl"));
    let [(1, JournalEvent::Start { .. }), (2, header)] = first.as_slice() else {
        panic!("{first:?}");
    };
    assert!(
        matches!(header, JournalEvent::Trip { trip: 1, .. }),
        "{header:?}"
    );
    let second = [
        (3, JournalEvent::Mark {}),
        (4, header.clone()),
        (5, JournalEvent::Ptt { down: true }),
    ];
    assert_eq!(journal(&mut card, &dir.join("journal-2.jsonl")), second);
}

/// Records a whole drive on a card with this many KiB free.
fn nearly_full(free_kib: u64) -> (DriveLog, CardContents) {
    let text = "card = { board = \"3fa2c1\", nearly_full_mib = 4, transmit_only_mib = 2 }";
    let card = MemoryCard::new();
    card.set_capacity(free_kib * 1024);
    let mut engine = start(&card, &RecorderConfig::parse(text).unwrap()).unwrap();
    let log = drive(&mut engine, &card, BLOCKS);
    let _told = finish(engine, BLOCKS);
    (log, card.contents())
}

#[track_caller]
fn check(free_kib: u64, alarm: Option<OperatorSignal>, kept: &[AudioDirection]) {
    let (log, shape) = nearly_full(free_kib);
    let (_folder, trip) = read(&shape);
    for signal in [OperatorSignal::CardNearlyFull, OperatorSignal::TransmitOnly] {
        let wanted = Some(signal) == alarm;
        assert_eq!(log.signals.contains(&signal), wanted, "{signal:?}");
    }
    // The segment that was open at that moment is completed.
    let late = |segment: &&jumpseat_trip::AudioSegment| segment.first_sample > 2 * 16_000;
    let mut directions: Vec<AudioDirection> = Vec::new();
    for segment in trip.segments().iter().filter(late) {
        if !directions.contains(&segment.direction) {
            directions.push(segment.direction);
        }
    }
    directions.sort_by_key(|way| *way == AudioDirection::Tx);
    assert_eq!(directions, kept, "{free_kib} KiB");
    let judged = judge(trip.dir(), BLOCKS * 320, log.promises.iter());
    assert!(judged.broken.is_empty(), "{free_kib} KiB: {judged:?}");
    let is_card_full = |event: &JournalEvent| {
        matches!(
            event,
            JournalEvent::Fault {
                fault: RecorderFault::CardFull,
                ..
            }
        )
    };
    let recorded = trip
        .records()
        .iter()
        .any(|record| is_card_full(&record.event));
    assert_eq!(recorded, alarm.is_some());
    assert_eq!(
        trip.dir().file_name(),
        Some(Path::new("trip-000001-3fa2c1").as_os_str())
    );
}

#[test]
fn below_the_floor_the_alarm_sounds_and_with_nothing_confirmed_left_journal_and_transmit_overs_stay()
 {
    use AudioDirection::{Rx, Tx};
    check(40_000, None, &[Rx, Tx]);
    check(3_800, Some(OperatorSignal::CardNearlyFull), &[Rx, Tx]);
    check(2_000, Some(OperatorSignal::TransmitOnly), &[Tx]);
    check(900, Some(OperatorSignal::TransmitOnly), &[]);
}
