//! A receiver on a pseudo-terminal, straight and through the real GPS daemon
//! (Debian package gpsd for the latter).

use std::fs::{self, File};
use std::io::Write;
use std::net::TcpListener;
use std::os::unix::fs::symlink;
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::Duration;

use super::board::feeder::noise;
use super::board::{Board, Feeder, Trip, wait_for};
use jumpseat_core::journal::{Event, Fault, TimeSource};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{OptionalActions, tcgetattr, tcsetattr};

/// The receiver's end of a pseudo-terminal, and the other end's name.
fn terminal() -> (File, String) {
    let master = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC).unwrap();
    grantpt(&master).unwrap();
    unlockpt(&master).unwrap();
    let name = ptsname(&master, Vec::new()).unwrap().into_string().unwrap();
    let mut modes = tcgetattr(&master).unwrap();
    modes.make_raw();
    tcsetattr(&master, OptionalActions::Now, &modes).unwrap();
    (File::from(master), name)
}

fn sentence(body: &str) -> String {
    let sum = body.bytes().fold(0, |sum, byte| sum ^ byte);
    format!("${body}*{sum:02X}\r\n")
}

/// Tells a cold start and then a drive, ten sentences a second.
fn drive(receiver: &mut File, seconds: std::ops::Range<u32>) {
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
        let both = if valid {
            sentence(&gga) + &sentence(&rmc)
        } else {
            sentence(&rmc)
        };
        receiver.write_all(both.as_bytes()).unwrap();
        sleep(Duration::from_millis(100));
    }
}

/// Latitude, satellites, valid.
type Place = (f64, Option<u8>, bool);

fn fixes(trip: &Trip) -> (Vec<(String, bool)>, Vec<Place>) {
    let mut times = Vec::new();
    let mut places = Vec::new();
    for record in &trip.records {
        match &record.event {
            // This machine's own clock may be synchronised.
            Event::TimeFix {
                source: TimeSource::System,
                ..
            } => {}
            Event::TimeFix { utc, valid, .. } => times.push((utc.to_string(), *valid)),
            Event::PositionFix {
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

#[test]
fn sentences_are_written_from_the_first_and_flagged_until_the_fix() {
    let (mut receiver, name) = terminal();
    let board = Board::new().with(&format!("gps = {{ serial = {{ device = \"{name}\" }} }}"));
    let recorder = board.record();
    sleep(Duration::from_millis(300));
    drive(&mut receiver, 0..20);
    recorder.hears("talks");
    sleep(Duration::from_millis(200));
    // The receiver is pulled out.
    drop(receiver);
    recorder.hears("is lost");
    assert_eq!(recorder.terminate().code(), Some(0));
    let trip = board.trip();
    let (times, places) = fixes(&trip);
    assert_eq!(times.len(), 20, "{}", trip.journal());
    assert_eq!(times[0], ("2080-01-06T00:00:00Z".to_owned(), false));
    assert_eq!(times[4], ("2026-05-14T15:02:04Z".to_owned(), true));
    // Sentences came ten times too fast; places are written at most once a second.
    assert!((2..=3).contains(&places.len()), "{places:?}");
    let (lat, satellites, valid) = places[0];
    assert!(
        (lat - (41.0 + (24.0 + 4.0 / 60.0) / 60.0)).abs() < 1e-5,
        "{lat}"
    );
    assert_eq!((satellites, valid), (Some(7), true));
    assert!(trip.has(|event| matches!(
        event,
        Event::Fault {
            fault: Fault::Gps,
            ..
        }
    )));
}

struct Gpsd(Child);

impl Drop for Gpsd {
    fn drop(&mut self) {
        let _ended = self.0.kill();
        let _reaped = self.0.wait();
    }
}

impl Gpsd {
    fn start(port: u16, receiver: &str) -> Self {
        let gpsd = Command::new("gpsd")
            .args(["-N", "-n", "-b", "-S", &port.to_string(), receiver])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("gpsd is missing: apt-get install gpsd");
        Self(gpsd)
    }
}

fn free_port() -> u16 {
    TcpListener::bind("127.0.0.1:0")
        .unwrap()
        .local_addr()
        .unwrap()
        .port()
}

/// Faults and recoveries of the receiver, and whether the sound knows of none of it.
fn story(trip: &Trip) -> String {
    assert!(
        !trip.has(|event| matches!(event, Event::Gap { .. })),
        "{}",
        trip.journal()
    );
    let told = |event: &Event| match event {
        Event::Fault { fault, .. } => (*fault == Fault::Gps).then_some('f'),
        Event::Recovery { fault, .. } => (*fault == Fault::Gps).then_some('r'),
        _ => None,
    };
    trip.records.iter().filter_map(|r| told(&r.event)).collect()
}

#[test]
fn a_receiver_pulled_out_and_plugged_in_is_heard_again_and_the_sound_has_no_gap() {
    let (mut receiver, name) = terminal();
    let board = Board::new().with_sound(16_000);
    let port = board.path("gps");
    symlink(name, &port).unwrap();
    let board = board.with(&format!(
        "gps = {{ serial = {{ device = \"{}\" }} }}",
        port.display()
    ));
    let _feeder = Feeder::start(&board.path("sound"), 16_000, noise(60, 16_000));
    let recorder = board.record();
    sleep(Duration::from_millis(300));
    drive(&mut receiver, 4..8);
    recorder.hears("talks");
    drop(receiver);
    recorder.hears("is lost");
    let (mut receiver, name) = terminal();
    fs::remove_file(&port).unwrap();
    symlink(name, &port).unwrap();
    for second in 20..59 {
        drive(&mut receiver, second..second + 1);
        if board.trip().has(|event| {
            matches!(
                event,
                Event::Recovery {
                    fault: Fault::Gps,
                    ..
                }
            )
        }) {
            break;
        }
    }
    drive(&mut receiver, 50..54);
    assert_eq!(recorder.terminate().code(), Some(0));
    let trip = board.trip();
    let story = story(&trip);
    assert!(story.starts_with('f') && story.ends_with('r'), "{story}");
    let (times, _) = fixes(&trip);
    let told = |second: &str| times.iter().any(|(utc, _)| utc.ends_with(second));
    assert!(told(":05Z") && told(":53Z"), "{times:?}");
}

#[test]
fn gpsd_started_again_is_heard_again_and_the_sound_has_no_gap() {
    let (mut receiver, name) = terminal();
    let port = free_port();
    let gpsd = Gpsd::start(port, &name);
    let board = Board::new()
        .with_sound(16_000)
        .with(&format!("gps = {{ gpsd = \"127.0.0.1:{port}\" }}"));
    let _feeder = Feeder::start(&board.path("sound"), 16_000, noise(60, 16_000));
    let recorder = board.record();
    let mut until = |done: &dyn Fn() -> bool| {
        for _ in 0..6 {
            drive(&mut receiver, 10..40);
            if done() {
                return;
            }
        }
        panic!("gpsd is not heard: {}", board.trip().journal());
    };
    until(&|| recorder.says("tells time and place"));
    drop(gpsd);
    let again = |event: &Event| {
        matches!(
            event,
            Event::Recovery {
                fault: Fault::Gps,
                ..
            }
        )
    };
    let lost = |event: &Event| {
        matches!(
            event,
            Event::Fault {
                fault: Fault::Gps,
                ..
            }
        )
    };
    wait_for(&board.path("log"), "a fault", || board.trip().has(lost));
    let _gpsd = Gpsd::start(port, &name);
    until(&|| board.trip().has(again));
    assert_eq!(recorder.terminate().code(), Some(0));
    let story = story(&board.trip());
    assert!(story.ends_with("fr"), "{story}");
}

#[test]
fn gpsd_tells_the_same_time_and_place() {
    let (mut receiver, name) = terminal();
    let port = free_port();
    let _gpsd = Gpsd::start(port, &name);
    let board = Board::new().with(&format!("gps = {{ gpsd = \"127.0.0.1:{port}\" }}"));
    let recorder = board.record();
    // gpsd finds out the speed of the line by itself; that takes some sentences.
    for _ in 0..6 {
        drive(&mut receiver, 10..40);
        if recorder.says("tells time and place") {
            break;
        }
    }
    drive(&mut receiver, 40..55);
    recorder.hears("tells time and place");
    assert_eq!(recorder.terminate().code(), Some(0));
    let trip = board.trip();
    let (times, places) = fixes(&trip);
    assert!(
        times
            .iter()
            .any(|(utc, valid)| utc.starts_with("2026-05-14T15:02:4") && *valid)
    );
    let near = |&(lat, _, valid): &Place| valid && (lat - 41.41).abs() < 0.02;
    assert!(!places.is_empty() && places.iter().all(near), "{places:?}");
}
