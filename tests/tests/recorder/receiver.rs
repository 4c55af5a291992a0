//! A receiver on a pseudo-terminal, read directly and through the real gpsd (Debian package
//! gpsd).

use std::fs;
use std::ops::Range;
use std::os::unix::fs::symlink;
use std::path::Path;
use std::thread::sleep;
use std::time::Duration;

use jumpseat_core::journal::{JournalEvent, RecorderFault, TimeSource};
use jumpseat_simulator::gps::sentence::frame;
use jumpseat_test_kit::free_port;
use jumpseat_tests::board::TestBoard;
use jumpseat_tests::journal_story::{has, story};
use jumpseat_tests::parts::{GpsdDaemon, PseudoTerminal};
use jumpseat_trip::Trip;

use crate::sound_boards::{board_with_sound, board_without_sound, noise};

/// Sends a cold start and then a drive, ten times as fast as a receiver.
fn drive(receiver: &mut PseudoTerminal, seconds: Range<u32>) {
    for second in seconds {
        let valid = second >= 4;
        let minute = 24.0 + f64::from(second) / 60.0;
        let rmc = if valid {
            format!(
                "GPRMC,1502{second:02}.00,A,41{minute:07.4},N,08151.6838,W,20.0,85.5,140526,,,A"
            )
        } else {
            format!("GPRMC,0000{second:02}.00,V,,,,,,,060180,,,N")
        };
        let gga = format!(
            "GPGGA,1502{second:02}.00,41{minute:07.4},N,08151.6838,W,1,07,1.2,280.2,M,-34.0,M,,"
        );
        let both = [gga, rmc];
        for sentence in &both[usize::from(!valid)..] {
            receiver.send(&frame(sentence)).unwrap();
        }
        sleep(Duration::from_millis(100));
    }
}

fn with_port(board: TestBoard, port: &Path) -> TestBoard {
    board.with(&format!("gps = {{ serial = {{ device = {port:?} }} }}"))
}

fn with_daemon(board: TestBoard, gpsd: &GpsdDaemon) -> TestBoard {
    board.with(&format!("gps = {{ gpsd = \"{}\" }}", gpsd.address()))
}

/// Latitude, satellites, valid.
type FixPlace = (f64, Option<u8>, bool);

fn fixes(trip: &Trip) -> (Vec<(String, bool)>, Vec<FixPlace>) {
    let mut times = Vec::new();
    let mut places = Vec::new();
    for record in trip.records() {
        match &record.event {
            // This machine's own clock may be synchronised.
            JournalEvent::TimeFix {
                source: TimeSource::System,
                ..
            } => {}
            JournalEvent::TimeFix { utc, valid, .. } => times.push((utc.to_string(), *valid)),
            JournalEvent::PositionFix {
                lat,
                satellites,
                valid,
                ..
            } => {
                places.push((*lat, *satellites, *valid));
            }
            _ => {}
        }
    }
    (times, places)
}

fn is_fault(event: &JournalEvent) -> bool {
    matches!(
        event,
        JournalEvent::Fault {
            fault: RecorderFault::Gps,
            ..
        }
    )
}

fn is_recovery(event: &JournalEvent) -> bool {
    matches!(
        event,
        JournalEvent::Recovery {
            fault: RecorderFault::Gps,
            ..
        }
    )
}

#[track_caller]
fn check_no_gap(trip: &Trip) {
    let gap = |event: &JournalEvent| matches!(event, JournalEvent::Gap { .. });
    assert!(!has(trip, gap), "{:?}", trip.records());
}

#[test]
fn sentences_are_written_from_the_first_and_flagged_until_the_fix() {
    let mut receiver = PseudoTerminal::open().unwrap();
    let board = with_port(board_without_sound(), receiver.device());
    let mut recorder = board.record().unwrap();
    sleep(Duration::from_millis(300));
    drive(&mut receiver, 0..20);
    recorder.wait_for_output("sends sentences").unwrap();
    sleep(Duration::from_millis(200));
    // The receiver is unplugged.
    drop(receiver);
    recorder.wait_for_output("is lost").unwrap();
    assert_eq!(recorder.terminate().unwrap().code(), Some(0));
    let trip = board.trip().unwrap();
    let (times, places) = fixes(&trip);
    assert_eq!(times.len(), 20, "{:?}", trip.records());
    assert_eq!(times[0], ("2080-01-06T00:00:00Z".to_owned(), false));
    assert_eq!(times[4], ("2026-05-14T15:02:04Z".to_owned(), true));
    // Sentences came ten times too fast; positions are recorded at most once a second.
    assert!((2..=3).contains(&places.len()), "{places:?}");
    let (lat, satellites, valid) = places[0];
    assert!(
        (lat - (41.0 + (24.0 + 4.0 / 60.0) / 60.0)).abs() < 1e-5,
        "{lat}"
    );
    assert_eq!((satellites, valid), (Some(7), true));
    assert!(has(&trip, is_fault));
}

#[test]
fn a_receiver_pulled_out_and_plugged_in_is_heard_again_and_the_sound_has_no_gap() {
    let mut receiver = PseudoTerminal::open().unwrap();
    let (board, _sound) = board_with_sound(noise(60));
    let port = board.path("gps");
    symlink(receiver.device(), &port).unwrap();
    let board = with_port(board, &port);
    let mut recorder = board.record().unwrap();
    sleep(Duration::from_millis(300));
    drive(&mut receiver, 4..8);
    recorder.wait_for_output("sends sentences").unwrap();
    drop(receiver);
    recorder.wait_for_output("is lost").unwrap();
    let mut receiver = PseudoTerminal::open().unwrap();
    fs::remove_file(&port).unwrap();
    symlink(receiver.device(), &port).unwrap();
    for second in 20..59 {
        drive(&mut receiver, second..second + 1);
        if has(&board.trip().unwrap(), is_recovery) {
            break;
        }
    }
    drive(&mut receiver, 50..54);
    assert_eq!(recorder.terminate().unwrap().code(), Some(0));
    let trip = board.trip().unwrap();
    check_no_gap(&trip);
    let story = story(&trip, RecorderFault::Gps);
    assert!(story.starts_with('f') && story.ends_with('r'), "{story}");
    let (times, _) = fixes(&trip);
    let has_time = |second: &str| times.iter().any(|(utc, _)| utc.ends_with(second));
    assert!(has_time(":05Z") && has_time(":53Z"), "{times:?}");
}

/// Drives on until `done`: gpsd detects the speed of the line by itself, which takes some
/// sentences.
#[track_caller]
fn drive_until(receiver: &mut PseudoTerminal, board: &TestBoard, done: impl Fn() -> bool) {
    for _ in 0..6 {
        drive(receiver, 10..40);
        if done() {
            return;
        }
    }
    panic!("gpsd is not heard: {:?}", board.trip().unwrap().records());
}

#[test]
fn gpsd_started_again_is_heard_again_and_the_sound_has_no_gap() {
    let mut receiver = PseudoTerminal::open().unwrap();
    let port = free_port().unwrap();
    let (board, _sound) = board_with_sound(noise(60));
    let gpsd = GpsdDaemon::start_at(port, board.folder(), &receiver).unwrap();
    let board = with_daemon(board, &gpsd);
    let mut recorder = board.record().unwrap();
    let gpsd_reports = || recorder.output().contains("reports time and position");
    drive_until(&mut receiver, &board, gpsd_reports);
    drop(gpsd);
    let has = |event: fn(&JournalEvent) -> bool| has(&board.trip().unwrap(), event);
    recorder.wait_until("a fault", || has(is_fault)).unwrap();
    let _gpsd = GpsdDaemon::start_at(port, board.folder(), &receiver).unwrap();
    drive_until(&mut receiver, &board, || has(is_recovery));
    assert_eq!(recorder.terminate().unwrap().code(), Some(0));
    let trip = board.trip().unwrap();
    check_no_gap(&trip);
    let story = story(&trip, RecorderFault::Gps);
    assert!(story.ends_with("fr"), "{story}");
}

#[test]
fn gpsd_tells_the_same_time_and_place() {
    let mut receiver = PseudoTerminal::open().unwrap();
    let board = board_without_sound();
    let gpsd = GpsdDaemon::start(board.folder(), &receiver).unwrap();
    let board = with_daemon(board, &gpsd);
    let mut recorder = board.record().unwrap();
    let gpsd_reports = || recorder.output().contains("reports time and position");
    drive_until(&mut receiver, &board, gpsd_reports);
    drive(&mut receiver, 40..55);
    assert_eq!(recorder.terminate().unwrap().code(), Some(0));
    let trip = board.trip().unwrap();
    let (times, places) = fixes(&trip);
    assert!(
        times
            .iter()
            .any(|(utc, valid)| utc.starts_with("2026-05-14T15:02:4") && *valid)
    );
    let near = |&(lat, _, valid): &FixPlace| valid && (lat - 41.41).abs() < 0.02;
    assert!(!places.is_empty() && places.iter().all(near), "{places:?}");
}
