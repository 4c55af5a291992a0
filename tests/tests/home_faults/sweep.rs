//! Every fault at every operation of every command.
//!
//! Of each command and fault some operations are tried, evenly spread, and all of them for
//! a kill; with JUMPSEAT_FAULTS=all all of everything, with the name of a command, such as
//! JUMPSEAT_FAULTS=keep, all of that one and nothing else.

use std::collections::BTreeMap;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;
use std::time::Instant;

use crate::case::{FaultCase, FaultRun};
use crate::disk::{self, DiskFault, DiskOperation};
use crate::rules::judge;
use crate::scenes::SCENES;

/// So many operations are tried for each command and fault but kills.
const TRIALS_PER_FAULT: usize = 12;
/// So many kills of a command that takes long.
const TRIALS_OF_SLOW_COMMANDS: usize = 4;

/// A fault at an operation, by number from 1.
type FaultTrial = (DiskFault, usize);

#[test]
fn a_disk_that_fails_anywhere_costs_nothing() {
    check(
        "operations",
        |case| &case.operations,
        |case| {
            let trials = DiskFault::ALL.map(|fault| {
                let befalls = |operation: &DiskOperation| fault.befalls(operation);
                chosen(case, fault, &case.operations, befalls)
            });
            trials.concat()
        },
    );
}

#[test]
fn a_disk_that_cannot_be_read_anywhere_costs_nothing() {
    check(
        "operations, reads too,",
        |case| &case.with_reads,
        |case| {
            let reads = |one: &DiskOperation| {
                ["read", "list", "look"].contains(&one.name.as_str()) && !is_doubt_of(case, one)
            };
            chosen(case, DiskFault::Unreadable, &case.with_reads, reads)
        },
    );
}

/// Sound that cannot be read is a doubt of what a draft or an export makes of it.
fn is_doubt_of(case: &FaultCase, operation: &DiskOperation) -> bool {
    let listens = ["draft", "export"]
        .iter()
        .any(|word| case.scene.name.starts_with(word));
    listens && operation.path.starts_with("home/trips")
}

fn wanted() -> Option<String> {
    std::env::var("JUMPSEAT_FAULTS").ok()
}

/// The operations at which a fault is tried.
fn chosen(
    case: &FaultCase,
    fault: DiskFault,
    operations: &[DiskOperation],
    befalls: impl Fn(&DiskOperation) -> bool,
) -> Vec<FaultTrial> {
    let numbered = (1..)
        .zip(operations)
        .filter(|(_, operation)| befalls(operation));
    let all: Vec<FaultTrial> = numbered.map(|(number, _)| (fault, number)).collect();
    let most = match fault {
        _ if wanted().is_some() => all.len(),
        _ if case.scene.slow => TRIALS_OF_SLOW_COMMANDS,
        DiskFault::Killed => all.len(),
        _ => TRIALS_PER_FAULT,
    };
    (0..most.min(all.len()))
        .map(|index| all[index * all.len() / most])
        .collect()
}

/// Tries all that was chosen of each command, as many at once as there are processors.
fn check(
    what: &str,
    operations: impl Fn(&FaultCase) -> &[DiskOperation],
    choose: impl Fn(&FaultCase) -> Vec<FaultTrial>,
) {
    let wanted = wanted().filter(|word| word != "all");
    let scenes = SCENES
        .iter()
        .filter(|scene| wanted.as_ref().is_none_or(|name| name == scene.name));
    let cases: Vec<FaultCase> = scenes.map(FaultCase::play).collect();
    assert!(!cases.is_empty(), "no command is called {wanted:?}");
    let trials = cases
        .iter()
        .flat_map(|case| choose(case).into_iter().map(move |trial| (case, trial)));
    let trials: Vec<(&FaultCase, FaultTrial)> = trials.collect();
    let begun = Instant::now();
    let next = AtomicUsize::new(0);
    let wrong: Mutex<BTreeMap<usize, String>> = Mutex::default();
    let workers = thread::available_parallelism().map_or(1, usize::from);
    thread::scope(|scope| {
        for _ in 0..workers {
            scope.spawn(|| {
                while let Some((number, (case, (fault, at)))) = {
                    let number = next.fetch_add(1, Ordering::Relaxed);
                    trials.get(number).map(|trial| (number, trial))
                } {
                    let found = tried(case, *fault, *at);
                    if !found.is_empty() {
                        wrong.lock().unwrap().insert(number, found);
                    }
                }
            });
        }
    });
    let wrong = wrong.into_inner().unwrap();
    for case in &cases {
        let tried = trials
            .iter()
            .filter(|(of, _)| of.scene.name == case.scene.name)
            .count();
        println!(
            "{}: {} {what} {tried} faults",
            case.scene.name,
            operations(case).len()
        );
    }
    println!(
        "figure: home: {} commands, {} {what} faults tried {}, lost {}, in {:.0} s",
        cases.len(),
        cases
            .iter()
            .map(|case| operations(case).len())
            .sum::<usize>(),
        trials.len(),
        wrong.len(),
        begun.elapsed().as_secs_f64()
    );
    let told: Vec<&str> = wrong.values().take(40).map(String::as_str).collect();
    assert!(
        wrong.is_empty(),
        "{} trials went wrong:\n{}",
        wrong.len(),
        told.join("\n")
    );
}

/// What went wrong in one trial, in words; nothing where all is well.
fn tried(case: &FaultCase, fault: DiskFault, at: usize) -> String {
    let run = FaultRun::prepare(case.scene);
    let ended = disk::run(
        &run.root,
        Some((fault, at)),
        &case.scene.arguments(&run.root),
    );
    // Threads take turns as they like, so that another operation may be the one.
    let befell = ended.operations.get(at - 1);
    if fault == DiskFault::Unreadable && befell.is_some_and(|one| is_doubt_of(case, one)) {
        return String::new();
    }
    let wrong = judge(case, &run.root, &ended);
    if wrong.is_empty() {
        return String::new();
    }
    let here = run.root.to_string_lossy().into_owned();
    format!(
        "{}, {fault:?} at {at} ({:?}), ended {:?}: {}\n    {}",
        case.scene.name,
        befell,
        ended.code,
        ended.error.trim(),
        wrong.join("\n    ")
    )
    .replace(&here, "HERE")
}
