//! The card fails at the n-th operation, once or for good, or is full.

use jumpseat_core::signal::OperatorSignal;
use jumpseat_memory_card::{CutSurvival, FaultPlan, MemoryCard};

use crate::drive::{BLOCKS, DriveLog, config, drive, finish, start};
use crate::remains::{TripRemains, judge, trips, unpack};

/// Plays the drive on a card that fails at operation `at`; returns what is left after a
/// power cut at the end.
fn failing(at: u64, for_good: bool, blocks: u64) -> Option<(TripRemains, DriveLog)> {
    let card = MemoryCard::new();
    card.fail(Some(FaultPlan { at, for_good }));
    // A card that fails at the start makes the start fail, and the service manager tries
    // again.
    let mut engine = match start(&card, &config()) {
        Ok(engine) => engine,
        Err(_) if for_good => return None,
        Err(_) => start(&card, &config()).unwrap(),
    };
    let log = drive(&mut engine, &card, blocks);
    // Its error was reported; what counts is what is on the card.
    let _told = finish(engine, blocks);
    let shape = card
        .after_power_cut(u64::MAX, CutSurvival::Nothing)
        .contents();
    let folder = tempfile::tempdir_in("/dev/shm")
        .or_else(|_| tempfile::tempdir())
        .unwrap();
    unpack(&shape, folder.path());
    let trip = trips(&shape).pop()?;
    let fed = blocks * 320;
    let left = judge(&folder.path().join(trip), fed, log.promises.iter());
    Some((left, log))
}

/// Operations of the whole drive without a fault, including its end.
fn operations(blocks: u64) -> u64 {
    let card = MemoryCard::new();
    let mut engine = start(&card, &config()).unwrap();
    drive(&mut engine, &card, blocks);
    finish(engine, blocks).unwrap();
    card.operations()
}

#[test]
fn one_error_at_any_operation_loses_nothing_and_is_heard() {
    let operations = operations(BLOCKS);
    let starting = {
        let card = MemoryCard::new();
        let _engine = start(&card, &config()).unwrap();
        card.operations()
    };
    for at in 1..=operations {
        let (left, log) = failing(at, false, BLOCKS).unwrap();
        let what = format!("an error at operation {at} of {operations}: {left:?}");
        assert!(
            !left.damaged && left.lost == 0 && left.broken.is_empty(),
            "{what}"
        );
        assert!(left.ended_in_order, "{what}");
        // An error of the last second is not signalled, because the drive is over.
        if at > starting && at < operations - 12 {
            let alarmed = log.signals.contains(&OperatorSignal::CardNearlyFull);
            assert!(alarmed, "no alarm; {what}");
        }
    }
    println!(
        "figure: one I/O error at each of {operations} operations: samples lost 0, marks lost 0, key edges lost 0"
    );
}

#[test]
fn a_card_that_fails_for_good_keeps_what_it_had_and_the_alarm_sounds() {
    let operations = operations(BLOCKS);
    let mut tried = 0;
    for at in 1..=operations {
        let Some((left, log)) = failing(at, true, BLOCKS) else {
            continue;
        };
        tried += 1;
        let what = format!("no answer from operation {at} of {operations} on: {left:?}");
        let fed = log.fed_at(at);
        let lost_before = (left.lost + fed).saturating_sub(BLOCKS * 320);
        assert!(!left.damaged && lost_before <= 2 * 16_000, "{what}");
        for promise in &left.broken {
            assert!(promise.operations >= at, "{promise:?} was safe; {what}");
        }
        let marks = log
            .signals
            .iter()
            .filter(|signal| **signal == OperatorSignal::MarkAcknowledged);
        let safe = log
            .promised_at(at)
            .filter(|p| p.event == (jumpseat_core::journal::JournalEvent::Mark {}));
        assert!(
            marks.count() <= safe.count() + 1,
            "acknowledged without being safe; {what}"
        );
        if at < operations - 12 {
            assert!(
                log.signals.contains(&OperatorSignal::CardNearlyFull),
                "no alarm; {what}"
            );
        }
    }
    println!(
        "figure: a card that fails for good at each of {tried} operations: nothing that was safe was lost, alarm each time"
    );
}

#[test]
fn a_card_that_is_full_at_any_size_keeps_what_it_holds_and_says_so() {
    for kib in (4..700).step_by(4) {
        let card = MemoryCard::new();
        card.set_capacity(kib * 1024);
        let mut engine = start(&card, &config()).unwrap();
        let log = drive(&mut engine, &card, BLOCKS);
        let _told = finish(engine, BLOCKS);
        let shape = card
            .after_power_cut(u64::MAX, CutSurvival::Nothing)
            .contents();
        let folder = tempfile::tempdir_in("/dev/shm")
            .or_else(|_| tempfile::tempdir())
            .unwrap();
        unpack(&shape, folder.path());
        let trip = trips(&shape).pop().unwrap();
        let left = judge(&folder.path().join(trip), BLOCKS * 320, [].into_iter());
        // Two bytes per sample; 64 KiB for the journal and for what is written twice.
        let capacity = (kib * 1024).saturating_sub(64 * 1024) / 2;
        let kept = BLOCKS * 320 - left.lost;
        assert!(
            !left.damaged && kept >= capacity.min(BLOCKS * 320),
            "{kib} KiB: {left:?}"
        );
        assert!(
            log.signals.contains(&OperatorSignal::CardNearlyFull),
            "{kib} KiB"
        );
    }
}
