//! The packaged unit under a real service manager: the recorder dies in every possible way,
//! it hangs, its card fails, and the power is switched off.

use std::fs;
use std::time::Duration;

use jumpseat_core::journal::ShutdownReason;
use jumpseat_trip::{JournalEvent, Timeline, Trip};

use super::card;
use super::machine::{ConsoleEvent, VirtualMachine, folder};

/// Promised time from the recorder's death to the next one's first sample.
const PROMISED_S: f64 = 2.0;
/// Extra time of the emulated processor for setting up the sandbox and starting the
/// program: a second where a busy PC takes 0.16 s in all.
const EMULATED_S: f64 = 3.0;
/// The watchdog of the test's unit; the packaged one waits 30 s.
const WATCHDOG_S: f64 = 4.0;
/// Time allowed for the whole machine, on a busy computer.
const PATIENCE: Duration = Duration::from_secs(300);

/// What a recorder must never do, as `probe` names it.
const HELD_BACK: [&str; 8] = [
    "read a home",
    "write into the system",
    "see the temporary files of others",
    "see other processes",
    "read a disk",
    "look into the kernel",
    "make a namespace",
    "leave by the network",
];
const FREE: [&str; 3] = [
    "use loopback",
    "write its state",
    "keep its number off the card",
];

/// Monotonic seconds at which a trip's sound begins and ends.
fn span(trip: &Trip) -> (f64, f64) {
    let timeline = Timeline::of(trip);
    let last = trip.segments().iter().map(|segment| segment.end()).max();
    let at = |sample| timeline.mono_of_sample(sample) as f64 / 1e9;
    (at(0), at(last.unwrap_or(0)))
}

#[track_caller]
fn at(events: &[ConsoleEvent], what: &str) -> f64 {
    let found = events.iter().find(|event| event.what == what);
    found
        .unwrap_or_else(|| panic!("no {what:?}: {events:?}"))
        .at_s
}

fn possible<'a>(events: &'a [ConsoleEvent], place: &str) -> Vec<&'a str> {
    events
        .iter()
        .filter_map(|event| event.what.strip_prefix(place))
        .collect()
}

#[test]
fn the_service_manager_starts_a_dead_or_hung_recorder_again_within_2_s_in_its_sandbox() {
    let work = tempfile::tempdir().unwrap();
    let image = work.path().join("card.img");
    fs::copy(folder().join("card.img"), &image).unwrap();
    let events = VirtualMachine::with_system(&image).wait_for_end(PATIENCE);
    let copy = work.path().join("copy");
    fs::create_dir(&copy).unwrap();
    let trips: Vec<Trip> = card::trips(&image, &copy)
        .iter()
        .map(|dir| Trip::open(dir).unwrap())
        .collect();
    let spans: Vec<(f64, f64)> = trips.iter().map(span).collect();
    let boot_s = spans[0].0;

    // Each death begins another trip, and its event was reported just before it.
    let (mut restarts, mut lost) = (Vec::new(), Vec::new());
    for (trip, death) in ["ABRT", "KILL"].into_iter().enumerate() {
        let died_s = at(&events, death);
        restarts.push(spans[trip + 1].0 - died_s);
        lost.push(died_s - spans[trip].1);
    }
    // These are ended by the watchdog.
    let hung_s = spans[3].0 - at(&events, "STOP");
    let took_s = |what: &str| at(&events, &format!("{what}: ended")) - at(&events, what);
    let (read_only_s, failed_s) = (took_s("made read-only"), took_s("fails"));
    println!(
        "figure: pins: the packaged unit under systemd, emulated: kernel's start to first sample {boot_s:.1} s; \
         from a panic's signal to the next trip's first sample {:.2} s, from a kill {:.2} s (2 s promised, \
         {EMULATED_S} s more for the emulator), {:.2} s of sound before it lost at most",
        restarts[0],
        restarts[1],
        lost.iter().copied().fold(0.0, f64::max),
    );
    println!(
        "figure: pins: with a watchdog of {WATCHDOG_S} s: hung, and recording again after {hung_s:.1} s; \
         card read-only, ended after {read_only_s:.1} s; card failed, ended after {failed_s:.1} s"
    );
    for restart_s in restarts {
        assert!((0.0..PROMISED_S + EMULATED_S).contains(&restart_s));
    }
    assert!(lost.iter().all(|&lost_s| lost_s <= PROMISED_S), "{lost:?}");
    assert!(hung_s < WATCHDOG_S + PROMISED_S + EMULATED_S);
    for ended_s in [read_only_s, failed_s] {
        assert!(ended_s < 2.0 * WATCHDOG_S + EMULATED_S);
    }
    assert!(at(&events, "watchdog 3") > 0.0);

    let (inside, outside) = (possible(&events, "inside "), possible(&events, "outside "));
    assert_eq!(inside, FREE, "in the sandbox");
    assert_eq!(outside, [&HELD_BACK[..], &FREE].concat(), "outside of it");
    println!(
        "figure: pins: the sandbox holds back {} of {} things that the same user may do outside of it",
        HELD_BACK.len(),
        outside.len()
    );

    at(&events, "shows 0 trips more or less, in root:755");
    at(&events, "keeps the last number");
    at(&events, "memory 100663296");

    // The power-down closed the last trip in order.
    let last = trips.last().unwrap();
    let reason = ShutdownReason::Signal;
    assert_eq!(
        last.records().last().map(|record| &record.event),
        Some(&JournalEvent::Shutdown { reason })
    );
    for trip in &trips {
        assert_eq!(card::damage(trip), Vec::<String>::new());
    }
}
