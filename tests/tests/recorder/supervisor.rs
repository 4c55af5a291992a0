//! What the service manager receives, on a real socket.

use std::fs;
use std::os::unix::net::UnixDatagram;
use std::path::Path;
use std::process::Command;
use std::thread::sleep;
use std::time::{Duration, Instant};

use jumpseat_core::journal::JournalEvent;
use jumpseat_tests::journal_story::has;

use crate::preload;
use crate::sound_boards::{board_with_sound, noise};

/// Everything received within this time.
fn messages_within(socket: &UnixDatagram, time: Duration) -> Vec<String> {
    let until = Instant::now() + time;
    let mut messages = Vec::new();
    let mut bytes = [0; 1_024];
    while let Some(left) = until
        .checked_duration_since(Instant::now())
        .filter(|left| !left.is_zero())
    {
        socket.set_read_timeout(Some(left)).unwrap();
        if let Ok(count) = socket.recv(&mut bytes) {
            messages.push(String::from_utf8_lossy(&bytes[..count]).into_owned());
        }
    }
    messages
}

/// The environment from the service manager, whose watchdog is fed every half second.
fn supervised(command: &mut Command, socket: &Path) {
    command.env("NOTIFY_SOCKET", socket);
    command.env("WATCHDOG_USEC", "2000000");
}

fn beats(messages: &[String]) -> usize {
    messages.iter().filter(|text| *text == "WATCHDOG=1").count()
}

#[test]
fn the_watchdog_is_fed_only_while_samples_come_and_reach_the_card() {
    let (board, sound) = board_with_sound(noise(4));
    let notify = board.path("notify");
    let socket = UnixDatagram::bind(&notify).unwrap();
    let started = board.record_with(|command| supervised(command, &notify));
    let mut recorder = started.unwrap();
    let messages = messages_within(&socket, Duration::from_millis(3_500));
    assert!(messages.contains(&"READY=1".to_owned()), "{messages:?}");
    assert!(
        messages.contains(&"STATUS=recording".to_owned()),
        "{messages:?}"
    );
    assert!((4..=8).contains(&beats(&messages)), "{messages:?}");
    // The device hangs: nothing arrives any more.
    sound.wait();
    recorder.wait_for_output("no sound coming in").unwrap();
    let _before = messages_within(&socket, Duration::from_millis(200));
    let messages = messages_within(&socket, Duration::from_millis(2_500));
    assert_eq!(beats(&messages), 0, "{messages:?}");
    assert_eq!(recorder.terminate().unwrap().code(), Some(0));
    let messages = messages_within(&socket, Duration::from_millis(100));
    assert!(messages.contains(&"STOPPING=1".to_owned()), "{messages:?}");
}

#[test]
fn the_watchdog_is_not_fed_while_the_card_takes_nothing_and_again_when_it_does() {
    let (board, _sound) = board_with_sound(noise(40));
    let library = preload::library("fails", board.folder());
    let (notify, broken) = (board.path("notify"), board.path("broken"));
    let socket = UnixDatagram::bind(&notify).unwrap();
    let started = board.record_with(|command| {
        supervised(command, &notify);
        command.env("LD_PRELOAD", library);
        command.env("JUMPSEAT_TEST_BROKEN", &broken);
    });
    let mut recorder = started.unwrap();
    assert!(beats(&messages_within(&socket, Duration::from_secs(4))) >= 4);
    fs::write(&broken, "").unwrap();
    recorder.wait_for_output("cannot").unwrap();
    let _before = messages_within(&socket, Duration::from_millis(1_500));
    let messages = messages_within(&socket, Duration::from_millis(2_500));
    assert_eq!(beats(&messages), 0, "{messages:?}");
    fs::remove_file(&broken).unwrap();
    // The recorder tries a failed card again every 5 s.
    assert!(beats(&messages_within(&socket, Duration::from_secs(8))) > 0);
    // It reports the error it had.
    assert_ne!(recorder.terminate().unwrap().code(), None);
    let trip = board.trip().unwrap();
    assert!(
        !has(&trip, |event| matches!(event, JournalEvent::Gap { .. })),
        "{:?}",
        trip.records()
    );
}

#[test]
fn a_recorder_that_was_killed_records_again_within_two_seconds_of_its_start() {
    let (board, _sound) = board_with_sound(noise(12));
    let mut recorder = board.record().unwrap();
    recorder.wait_for_output("state: recording").unwrap();
    recorder.kill().unwrap();
    let began = Instant::now();
    let mut recorder = board.record().unwrap();
    let first = loop {
        let trips = board.trips().unwrap();
        let last = trips.last().filter(|_| trips.len() == 2);
        let sound = last.is_some_and(|trip| !trip.segments().is_empty());
        if sound || began.elapsed() > Duration::from_secs(5) {
            break began.elapsed();
        }
        sleep(Duration::from_millis(10));
    };
    assert!(first < Duration::from_secs(2), "{first:?}");
    println!(
        "figure: recorder: first samples in a file {} ms after its start",
        first.as_millis()
    );
    assert_eq!(recorder.terminate().unwrap().code(), Some(0));
    assert_eq!(board.trips().unwrap().len(), 2);
}
