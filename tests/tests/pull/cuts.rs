//! The link is cut anywhere: the next pull goes on, and ends with the same bytes.

use std::fs;
use std::path::Path;
use std::time::Duration;

use jumpseat_simulator::random::SeededRandom;
use jumpseat_test_kit::wait_until;
use rustix::process::{Pid, Signal, kill_process};

use crate::card;
use crate::proxy::{Fate, Link};
use crate::server::Server;

/// What may be on its way when a link breaks: a pull asks for 4 MiB ahead, and 9
/// pieces of 255 KiB may wait to be written when it is killed.
const IN_FLIGHT: u64 = (4 << 20) + 10 * 255 * 1024;

/// A server with two trips, what a whole pull of them takes from it, and what a
/// pull takes that finds nothing new.
fn prepare() -> (Server, u64, u64) {
    let server = Server::start();
    card::trip(&server.card(), 1, &[9_600_044, 3_000_000, 40_044, 700_001]);
    card::trip(&server.card(), 2, &[1; 60].map(|one| one * 20_044));
    let home = server.at("first");
    let takes = || {
        let link = Link::to(server.port, Fate::Whole, Duration::ZERO);
        let output = server.pull(link.port, &home);
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(0), "{said}");
        card::same(&server.card(), &home.join("trips"));
        link.passed()
    };
    let (whole, nothing) = (takes(), takes());
    (server, whole, nothing)
}

/// Pulls again over a good link; gives what it took from the server.
#[track_caller]
fn go_on(server: &Server, home: &Path) -> u64 {
    let link = Link::to(server.port, Fate::Whole, Duration::ZERO);
    let output = server.pull(link.port, home);
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{said}");
    card::same(&server.card(), &home.join("trips"));
    link.passed()
}

#[test]
fn a_link_cut_at_any_byte_costs_no_more_than_was_in_flight() {
    let (server, whole, nothing) = prepare();
    let mut random = SeededRandom::stream(8, "cuts");
    let tenths = (1..10).map(|tenth| whole * tenth / 10);
    let anywhere = (0..20).map(|_| random.bits() % whole);
    let mut worst = 0;
    let cuts: Vec<u64> = tenths.chain(anywhere).collect();
    for at in &cuts {
        let home = server.at("home");
        let link = Link::to(server.port, Fate::Cut(*at), Duration::ZERO);
        let output = server.pull(link.port, &home);
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(
            output.status.code(),
            Some(1),
            "cut at {at}: {} {said}",
            output.status
        );
        assert!(said.contains("pull again"), "cut at {at}: {said}");
        let again = go_on(&server, &home);
        let twice = (at + again).saturating_sub(whole + nothing);
        assert!(twice < IN_FLIGHT, "cut at {at}: {twice} bytes came twice");
        worst = worst.max(twice);
        fs::remove_dir_all(&home).unwrap();
    }
    println!("cut after so many bytes: {cuts:?}");
    println!(
        "figure: pull: link cut at {} places in {:.1} MB, the next pull identical; at most {} kB came twice ({} kB may be in flight)",
        cuts.len(),
        whole as f64 / 1e6,
        worst / 1000,
        IN_FLIGHT / 1000
    );
}

#[test]
fn a_pull_that_is_interrupted_or_killed_goes_on() {
    let (server, whole, nothing) = prepare();
    for (name, signal) in [("interrupted", Signal::INT), ("killed", Signal::KILL)] {
        let home = server.at(name);
        let at = whole / 2;
        let link = Link::to(server.port, Fate::Silent(at), Duration::ZERO);
        let mut running = server.pulling(link.port, &home).spawn().unwrap();
        assert!(wait_until(Duration::from_secs(20), || link.passed() >= at));
        kill_process(Pid::from_child(&running), signal).unwrap();
        assert!(!running.wait().unwrap().success());
        let twice = (at + go_on(&server, &home)).saturating_sub(whole + nothing);
        assert!(twice < IN_FLIGHT, "{name}: {twice} bytes came twice");
    }
}

#[test]
fn a_computer_that_was_suspended_for_longer_than_the_link_lives_goes_on() {
    let (server, whole, nothing) = prepare();
    let home = server.at("home");
    let at = whole / 3;
    let link = Link::to(server.port, Fate::Slow(at), Duration::ZERO);
    let mut running = server.pulling(link.port, &home).spawn().unwrap();
    assert!(wait_until(Duration::from_secs(20), || link.passed() >= at));
    // Both sleep: the pull and its ssh.
    let pids = family(running.id());
    let tell = |signal| {
        for pid in &pids {
            kill_process(*pid, signal).unwrap();
        }
    };
    tell(Signal::STOP);
    // The board gives up while the computer sleeps.
    link.cut();
    std::thread::sleep(Duration::from_secs(2));
    tell(Signal::CONT);
    let status = running.wait().unwrap();
    assert_eq!(status.code(), Some(1), "{status}");
    let twice = (link.passed() + go_on(&server, &home)).saturating_sub(whole + nothing);
    assert!(twice < IN_FLIGHT, "{twice} bytes came twice");
}

#[test]
fn a_computer_that_was_suspended_for_a_moment_goes_on_as_if_nothing_had_been() {
    let (server, whole, _) = prepare();
    let home = server.at("home");
    let link = Link::to(server.port, Fate::Slow(whole / 3), Duration::ZERO);
    let mut running = server.pulling(link.port, &home).spawn().unwrap();
    assert!(wait_until(Duration::from_secs(20), || link.passed() >= whole / 3));
    let pids = family(running.id());
    for signal in [Signal::STOP, Signal::CONT] {
        for pid in &pids {
            kill_process(*pid, signal).unwrap();
        }
        std::thread::sleep(Duration::from_secs(1));
    }
    link.free();
    assert_eq!(running.wait().unwrap().code(), Some(0));
    card::same(&server.card(), &home.join("trips"));
}

/// A process and its children.
fn family(parent: u32) -> Vec<Pid> {
    let children = fs::read_to_string(format!("/proc/{parent}/task/{parent}/children")).unwrap();
    let pids = children.split_whitespace().map(|pid| pid.parse().unwrap());
    std::iter::once(parent as i32)
        .chain(pids)
        .filter_map(Pid::from_raw)
        .collect()
}
