//! Killed at any moment, with no disk that counts between it and the kernel.

use std::process::Stdio;
use std::thread;
use std::time::{Duration, Instant};

use jumpseat_simulator::random::SeededRandom;
use jumpseat_test_kit as kit;

use crate::case::{FaultCase, FaultRun, plain};
use crate::disk::{CommandEnd, surroundings};
use crate::rules::judge;
use crate::scenes::named;

const COMMANDS: [&str; 7] = [
    "pull",
    "pull what went on",
    "draft",
    "keep",
    "import",
    "confirm",
    "export clips",
];
/// Kills of each command; ten times as many with JUMPSEAT_FAULTS=all.
const KILLS_PER_COMMAND: usize = 40;

#[test]
fn a_command_that_is_killed_at_any_moment_costs_nothing() {
    let all = std::env::var("JUMPSEAT_FAULTS").is_ok_and(|word| word == "all");
    let each = if all {
        KILLS_PER_COMMAND * 10
    } else {
        KILLS_PER_COMMAND
    };
    let (mut kills, mut wrong) = (0, Vec::new());
    thread::scope(|scope| {
        let played = COMMANDS.map(|name| scope.spawn(move || kill(name, each)));
        for (killed, found) in played.map(|played| played.join().unwrap()) {
            kills += killed;
            wrong.extend(found);
        }
    });
    println!(
        "figure: home: {} commands killed {kills} times at random, lost {}",
        COMMANDS.len(),
        wrong.len()
    );
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(
        kills > COMMANDS.len() * each / 4,
        "most had ended before: {kills}"
    );
}

/// Kills one command again and again; gives how often it was still there, and what was
/// wrong.
fn kill(name: &'static str, each: usize) -> (usize, Vec<String>) {
    let case = FaultCase::play(named(name));
    let mut random = SeededRandom::stream(1, name);
    let whole = {
        let run = FaultRun::prepare(case.scene);
        let begun = Instant::now();
        let mut command = plain(&case.scene.arguments(&run.root));
        kit::done(surroundings(&mut command, &run.root)).unwrap();
        begun.elapsed()
    };
    let (mut kills, mut wrong) = (0, Vec::new());
    for _ in 0..each {
        let run = FaultRun::prepare(case.scene);
        let after = whole.mul_f64((random.bits() % 1_000) as f64 / 1e3);
        let mut command = plain(&case.scene.arguments(&run.root));
        let command = surroundings(&mut command, &run.root);
        let mut child = command
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        thread::sleep(after.max(Duration::from_micros(500)));
        child.kill().unwrap();
        let code = child.wait().unwrap().code();
        kills += usize::from(code.is_none());
        let ended = CommandEnd {
            code: None,
            out: String::new(),
            error: String::new(),
            operations: Vec::new(),
        };
        let found = judge(&case, &run.root, &ended);
        if !found.is_empty() {
            wrong.push(format!(
                "{name}, killed after {after:?}:\n    {}",
                found.join("\n    ")
            ));
        }
    }
    (kills, wrong)
}
