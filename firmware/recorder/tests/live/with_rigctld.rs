//! The real rig-control daemon with its dummy radio (Debian package
//! libhamlib-utils).

use std::io::{BufRead, BufReader, Write};
use std::net::{TcpListener, TcpStream};
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use super::board::Board;
use jumpseat_core::journal::{Event, Fault};

struct Rigctld(Child);

impl Rigctld {
    fn start(port: u16) -> Self {
        let child = Command::new("rigctld")
            .args(["-m", "1", "-T", "127.0.0.1", "-t", &port.to_string()])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("rigctld is missing: apt-get install libhamlib-utils");
        let rig = Self(child);
        let began = Instant::now();
        while TcpStream::connect(("127.0.0.1", port)).is_err() {
            assert!(
                began.elapsed() < Duration::from_secs(10),
                "rigctld does not listen"
            );
            sleep(Duration::from_millis(50));
        }
        rig
    }
}

impl Drop for Rigctld {
    fn drop(&mut self) {
        let _ended = self.0.kill();
        let _reaped = self.0.wait();
    }
}

fn turn(port: u16, command: &str) {
    // The daemon drops a connection now and then that comes while another goes.
    let reply = (0..5).find_map(|_| ask(port, command).ok());
    assert_eq!(reply.as_deref(), Some("RPRT 0\n"), "{command}");
}

fn ask(port: u16, command: &str) -> std::io::Result<String> {
    let mut stream = TcpStream::connect(("127.0.0.1", port))?;
    writeln!(stream, "{command}")?;
    let mut reply = String::new();
    BufReader::new(stream).read_line(&mut reply)?;
    Ok(reply)
}

#[test]
fn the_dial_is_written_on_change_and_again_after_the_daemon_came_back() {
    // A port that was free a moment ago.
    let port = TcpListener::bind("127.0.0.1:0")
        .unwrap()
        .local_addr()
        .unwrap()
        .port();
    let board = Board::new().with(&format!(
        "dial = {{ rigctld = \"127.0.0.1:{port}\", every_s = 0.2 }}"
    ));
    let recorder = board.record();
    recorder.hears("Connection refused");
    let rig = Rigctld::start(port);
    recorder.hears("answers");
    turn(port, "F 14250000");
    turn(port, "M USB 2400");
    sleep(Duration::from_millis(700));
    turn(port, "F 7188500");
    sleep(Duration::from_millis(700));
    drop(rig);
    // Whether an answer was still on its way decides which of the two it is.
    recorder.hears_any(&["hung up", "reset by peer"]);
    let _rig = Rigctld::start(port);
    sleep(Duration::from_millis(2_500));
    assert_eq!(recorder.terminate().code(), Some(0));

    let trip = board.trip();
    let dials: Vec<(u64, String)> = trip
        .records
        .iter()
        .filter_map(|record| match &record.event {
            Event::Dial { hz, mode } => Some((*hz, mode.to_string())),
            _ => None,
        })
        .collect();
    let at = |hz: u64, mode: &str| dials.iter().position(|dial| *dial == (hz, mode.to_owned()));
    let (first, second) = (at(14_250_000, "USB"), at(7_188_500, "USB"));
    assert!(
        first.is_some() && second.is_some() && first < second,
        "{dials:?}"
    );
    // The dummy radio starts anew at its own frequency.
    assert!(dials.len() as u64 > second.unwrap() as u64 + 1, "{dials:?}");
    let told = |event: &Event| match event {
        Event::Fault { fault, .. } => (*fault == Fault::Dial).then_some('f'),
        Event::Recovery { fault, .. } => (*fault == Fault::Dial).then_some('r'),
        _ => None,
    };
    let story: String = trip.records.iter().filter_map(|r| told(&r.event)).collect();
    assert_eq!(story, "frfr");
}

#[test]
fn the_dial_is_read_at_once_on_a_key_edge_whatever_its_interval() {
    let port = TcpListener::bind("127.0.0.1:0")
        .unwrap()
        .local_addr()
        .unwrap()
        .port();
    let board = Board::new().with(&format!(
        "dial = {{ rigctld = \"127.0.0.1:{port}\", every_s = 60 }}"
    ));
    let _rig = Rigctld::start(port);
    turn(port, "F 146940000");
    let recorder = board.record();
    recorder.hears("answers");
    // A repeater: the radio shows another frequency while it is keyed.
    for (key, hz) in [("ptt 1", 146_340_000), ("ptt 0", 146_940_000)] {
        turn(port, &format!("F {hz}"));
        board.say(key);
        sleep(Duration::from_millis(700));
    }
    assert_eq!(recorder.terminate().code(), Some(0));
    let trip = board.trip();
    let told: Vec<(u64, u64)> = trip
        .records
        .iter()
        .filter_map(|record| match record.event {
            Event::Dial { hz, .. } => Some((record.mono_ns, hz)),
            _ => None,
        })
        .collect();
    let hertz: Vec<u64> = told.iter().map(|&(_, hz)| hz).collect();
    assert_eq!(
        hertz,
        [146_940_000, 146_340_000, 146_940_000],
        "{}",
        trip.journal()
    );
    let edges = trip
        .records
        .iter()
        .filter(|record| matches!(record.event, Event::Ptt { .. }));
    let waits: Vec<u64> = edges
        .zip(&told[1..])
        .map(|(edge, &(at_ns, _))| (at_ns - edge.mono_ns) / 1_000_000)
        .collect();
    assert!(waits.iter().all(|&ms| ms < 200), "{waits:?} ms");
    println!(
        "figure: recorder: dial read {waits:?} ms after the key edges, its interval being 60 s"
    );
}
