//! The home computer pulls from a board that is about to go to sleep.

use std::fs;
use std::path::Path;
use std::thread::sleep;
use std::time::Duration;

use jumpseat_test_kit::wait_until;
use jumpseat_tests::board::{RunningRecorder, TestBoard};

use crate::card;
use crate::server::Server;

/// A recorder on this card whose ignition has just gone off. It stays awake for
/// 5 s, for 12 s at most, and then makes the file `asleep` in its folder.
fn parked(folder: &Path, card: &Path) -> RunningRecorder {
    let board = TestBoard::at(folder, card).unwrap().with_feed();
    let asleep = board.path("asleep");
    let board = board.with("sound = { device = \"none\" }").with(&format!(
        "ignition = {{ stay_awake_s = 5, at_most_s = 12, power_down = [\"touch\", {asleep:?}] }}"
    ));
    let recorder = board.record().unwrap();
    board.set_line("ignition", false).unwrap();
    recorder.wait_for_output("ignition off").unwrap();
    recorder
}

#[test]
fn a_pull_keeps_a_parked_board_awake_and_not_for_ever() {
    let server = Server::start();
    card::trip(&server.card(), 1, &[50_000]);
    let other = server.at("other-card");
    fs::create_dir(&other).unwrap();
    let pulled = parked(&server.at("pulled"), &server.card());
    let alone = parked(&server.at("alone"), &other);
    let home = server.at("home");
    let output = server.pull(server.port, &home);
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(home.join("trips/trip-000001-3fa2c1").exists(), "{said}");

    let sleeps = |name: &str| server.at(name).join("asleep").exists();
    let limit = Duration::from_secs(30);
    assert!(wait_until(limit, || sleeps("alone")));
    sleep(Duration::from_secs(2));
    assert!(!sleeps("pulled"), "it sleeps although it was being pulled");
    assert!(wait_until(limit, || sleeps("pulled")));
    drop((pulled, alone));
}
