//! The power fails in the middle of every operation, with many outcomes for what was not
//! synced; then the board starts again on that card.

use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};

use jumpseat_core::journal::JournalEvent;
use jumpseat_memory_card::{CardContents, CutSurvival, FaultPlan, MemoryCard};

use crate::drive::{BLOCKS, DriveLog, config, drive, finish, start};
use crate::remains::{TripRemains, judge, trips, unpack};

/// Outcomes that a cut is tried with: all lost, all there, and this many seeds of either
/// random kind.
const SEEDS: u64 = 26;
/// The loss budget of the design: 2 s of audio.
const MOST_LOST: u64 = 2 * 16_000;

fn fates() -> Vec<CutSurvival> {
    let mut fates = vec![CutSurvival::Nothing, CutSurvival::Everything];
    for seed in 0..SEEDS {
        fates.push(CutSurvival::SomeOf(seed));
        fates.push(CutSurvival::Torn(seed));
    }
    fates
}

/// The totals of all cuts.
#[derive(Debug, Default)]
struct CutTally {
    cuts: u64,
    damaged: u64,
    worst: u64,
    marks: u64,
    edges: u64,
}

impl CutTally {
    fn add(&mut self, left: &TripRemains) {
        self.cuts += 1;
        self.damaged += u64::from(left.damaged);
        self.worst = self.worst.max(left.lost);
        for promise in &left.broken {
            if promise.event == (JournalEvent::Mark {}) {
                self.marks += 1;
            } else {
                self.edges += 1;
            }
        }
    }
}

/// Starts the board again on the card and records: nothing of the old trip may change.
#[track_caller]
fn start_again(card: &MemoryCard, before: &CardContents, what: &str) {
    let mut engine = match start(card, &config()) {
        Ok(engine) => engine,
        Err(error) => panic!("{what}: the board does not start again: {error}"),
    };
    let log = drive(&mut engine, card, 60);
    assert!(log.fed.len() > 60);
    finish(engine, 60).unwrap_or_else(|error| panic!("{what}: {error}"));
    let after = card.contents();
    for (path, bytes) in before {
        let counter = path.to_string_lossy().starts_with("trip-counter");
        assert!(
            counter || after.get(path) == Some(bytes),
            "{what}: {} was touched",
            path.display()
        );
    }
    assert_eq!(trips(&after).len(), trips(before).len() + 1, "{what}");
}

/// Cuts at operation `at` and judges what is left.
fn cut(card: &MemoryCard, log: &DriveLog, at: u64, survival: CutSurvival) -> TripRemains {
    let left = card.after_power_cut(at, survival);
    let shape = left.contents();
    let what = format!("cut at operation {at}, {survival:?}");
    let folder = tempfile::tempdir_in("/dev/shm")
        .or_else(|_| tempfile::tempdir())
        .unwrap();
    unpack(&shape, folder.path());
    let fed = log.fed_at(at);
    let judged = match trips(&shape).first() {
        Some(trip) => judge(&folder.path().join(trip), fed, log.promised_at(at)),
        // Before the folder is synced nothing is promised but its audio.
        None => TripRemains {
            lost: fed,
            broken: log.promised_at(at).cloned().collect(),
            ..TripRemains::default()
        },
    };
    assert!(judged.broken.is_empty(), "{what}: {judged:?}");
    assert!(judged.lost <= MOST_LOST, "{what}: {judged:?}");
    // A folder whose creation was cut contains nothing that could be damaged.
    let born = fed > 0;
    assert!(!(judged.damaged && born), "{what}: {judged:?}");
    start_again(&left, &shape, &what);
    TripRemains {
        damaged: judged.damaged && born,
        ..judged
    }
}

#[test]
fn a_power_cut_at_any_operation_costs_at_most_two_seconds_no_edge_and_no_mark() {
    let card = MemoryCard::new();
    let mut engine = start(&card, &config()).unwrap();
    let log = drive(&mut engine, &card, BLOCKS);
    finish(engine, BLOCKS).unwrap();
    assert_eq!(
        log.promises.len(),
        6 + 4,
        "key edges and marks of the drive"
    );
    let operations = card.operations();
    let fates = fates();
    let next = AtomicU64::new(1);
    let tally = Mutex::new(CutTally::default());
    std::thread::scope(|scope| {
        for _ in 0..std::thread::available_parallelism().map_or(2, usize::from) {
            scope.spawn(|| {
                loop {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    if at > operations {
                        return;
                    }
                    for &fate in &fates {
                        let left = cut(&card, &log, at, fate);
                        tally.lock().unwrap().add(&left);
                    }
                }
            });
        }
    });
    let tally = tally.into_inner().unwrap();
    assert!(tally.cuts >= 10_000, "{tally:?}");
    println!(
        "figure: power cuts: {} ({operations} operations of a drive of {:.0} s, {} fates each), \
         trips damaged: {}, worst loss: {:.2} s, marks lost: {}, key edges lost: {}",
        tally.cuts,
        BLOCKS as f64 / 50.0,
        fates.len(),
        tally.damaged,
        tally.worst as f64 / 16_000.0,
        tally.marks,
        tally.edges
    );
}

#[test]
fn a_second_fault_while_the_board_starts_again_leaves_the_old_trip_as_it_was() {
    let card = MemoryCard::new();
    let mut engine = start(&card, &config()).unwrap();
    drive(&mut engine, &card, BLOCKS / 4);
    drop(engine);
    let operations = card.operations();
    let (mut faults, mut cuts) = (0, 0);
    for at in (1..=operations).step_by(3) {
        let left = card.after_power_cut(at, CutSurvival::Torn(at));
        let shape = left.contents();
        for second in 1..=40 {
            let again = left.copy();
            again.fail(Some(FaultPlan {
                at: second,
                for_good: false,
            }));
            let started = start(&again, &config());
            let reached = again.operations() >= second;
            drop(started);
            faults += 1;
            // Then the power fails as well.
            let third = again.after_power_cut(second, CutSurvival::SomeOf(second));
            let what = format!("cut at {at}, fault at {second} of the next start");
            for card in [&again, &third] {
                card.fail(None);
                let before = card.contents();
                for (path, bytes) in &shape {
                    let counter = path.to_string_lossy().starts_with("trip-counter");
                    assert!(counter || before.get(path) == Some(bytes), "{what}");
                }
                start_again(card, &before, &what);
                cuts += 1;
            }
            if !reached {
                break;
            }
        }
    }
    println!(
        "figure: second faults while starting again: {faults}, starts after them: {cuts}, old trips changed: 0"
    );
}
