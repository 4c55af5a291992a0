//! The number of the next trip: none is used twice where the board can know of the first,
//! and a trip begins whatever is on the card.

use std::fs;
use std::os::unix::fs::symlink;
use std::path::Path;
use std::time::Duration;

use jumpseat_test_kit::wait_until;
use jumpseat_tests::board::{RunningRecorder, TestBoard};
use jumpseat_tests::parts::make_fifo;

use crate::sound_boards::board_without_sound;

/// Something on or off the card before the first start.
enum CardItem {
    /// A folder of this name.
    Folder(&'static str),
    /// A file with this name and text.
    File(&'static str, &'static str),
    /// A pipe that nobody writes into.
    Fifo(&'static str),
    /// A link with this name and target.
    Link(&'static str, &'static str),
    /// The number that the board keeps outside the card.
    OffTheCard(&'static str),
}

use CardItem::{Fifo, File, Folder, Link, OffTheCard};

fn lay(board: &TestBoard, found: &CardItem) {
    let made = |name: &str| {
        let path = board.card().join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        path
    };
    match found {
        Folder(name) => fs::create_dir_all(made(name)).unwrap(),
        File(name, text) => fs::write(made(name), text).unwrap(),
        Fifo(name) => make_fifo(&made(name)).unwrap(),
        Link(name, to) => symlink(to, made(name)).unwrap(),
        OffTheCard(text) => fs::write(board.path("last-trip"), text).unwrap(),
    }
}

/// Starts twice: the trips have these two numbers.
#[track_caller]
fn check(found: &[CardItem], expected: [u32; 2]) {
    let board = board_without_sound();
    for found in found {
        lay(&board, found);
    }
    for number in expected {
        let mut recorder = board.record().unwrap();
        let name = format!("trip-{number:06}-3fa2c1");
        let output = recorder.output();
        assert!(output.contains(&name), "no {name} in: {output}");
        recorder.terminate().unwrap();
        let trip = board.card().join(name);
        assert!(trip.join("journal.jsonl").is_file(), "{output}");
    }
}

#[test]
fn no_number_is_given_twice_where_the_board_can_know() {
    check(&[], [1, 2]);
    check(&[Folder("trip-000016-3fa2c1")], [17, 18]);
    check(&[File("trip-counter", "40\n")], [41, 42]);
    // A fresh card in a board that has used numbers before.
    check(&[OffTheCard("16\n")], [17, 18]);
    check(&[OffTheCard("3\n"), Folder("trip-000016-3fa2c1")], [17, 18]);
    // The trip was pulled and its folder is gone, but not its receipt.
    check(&[File("receipts/trip-000041-3fa2c1.json", "{}")], [42, 43]);
    check(&[Folder(".going-trip-000050-3fa2c1")], [51, 52]);
}

#[test]
fn whatever_lies_on_the_card_a_trip_begins() {
    check(&[Folder("trip-4294967295-3fa2c1")], [1, 2]);
    check(
        &[
            Folder("trip-000016-3fa2c1"),
            Folder("trip-4294967295-3fa2c1"),
        ],
        [17, 18],
    );
    check(
        &[
            File("trip-counter", "4294967295\n"),
            Folder("trip-000003-3fa2c1"),
        ],
        [4, 5],
    );
    check(&[Folder("trip-counter")], [1, 2]);
    check(&[Folder("trip-counter/full")], [1, 2]);
    check(&[Folder("trip-counter.part")], [1, 2]);
    check(&[Fifo("trip-counter")], [1, 2]);
    check(&[Link("trip-counter", "/dev/zero")], [1, 2]);
    check(&[Link("trip-counter", "trip-counter")], [1, 2]);
    check(&[File("trip-counter", "seventeen")], [1, 2]);
    check(&[OffTheCard("4294967295\n")], [1, 2]);
    check(&[OffTheCard("")], [1, 2]);
    check(&[Fifo("receipts")], [1, 2]);
    check(&[File("trip-000001-3fa2c1", "no folder")], [2, 3]);
}

#[test]
fn a_place_off_the_card_that_cannot_be_written_is_told_and_nothing_waits_for_it() {
    let board = board_without_sound();
    fs::create_dir(board.path("last-trip")).unwrap();
    let mut recorder = board.record().unwrap();
    recorder.wait_for_output("last-trip").unwrap();
    let output = recorder.output();
    assert!(output.contains("card.last_trip"), "{output}");
    recorder.terminate().unwrap();
    assert_eq!(board.trips().unwrap().len(), 1);
}

#[test]
fn the_number_stands_off_the_card_as_soon_as_a_trip_has_begun() {
    let board = board_without_sound();
    let mut recorder = board.record().unwrap();
    let kept = board.path("last-trip");
    let written = || fs::read_to_string(&kept).is_ok_and(|text| text == "1\n");
    recorder
        .wait_until("a number off the card", written)
        .unwrap();
    recorder.kill().unwrap();
    fs::remove_dir_all(board.card()).unwrap();
    fs::create_dir(board.card()).unwrap();
    let mut recorder = board.record().unwrap();
    let output = recorder.output();
    assert!(output.contains("trip-000002-3fa2c1"), "{output}");
    recorder.terminate().unwrap();
}

#[test]
fn twelve_starts_at_once_make_twelve_trips() {
    let board = board_without_sound();
    let mut recorders: Vec<RunningRecorder> = (0..12)
        .map(|number| {
            let command = board.command(&["run"]).unwrap();
            let log = board.path(&format!("recorder-{number}.log"));
            RunningRecorder::start(&command, &log).unwrap()
        })
        .collect();
    for recorder in &recorders {
        recorder.wait_for_output("recording into").unwrap();
    }
    let output: Vec<String> = recorders.iter().map(RunningRecorder::output).collect();
    for recorder in &mut recorders {
        recorder.terminate().unwrap();
    }
    let mut names: Vec<String> = fs::read_dir(board.card())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.starts_with("trip-0"))
        .collect();
    names.sort();
    let expected: Vec<String> = (1..=12).map(|n| format!("trip-{n:06}-3fa2c1")).collect();
    assert_eq!(names, expected, "{output:?}");
    for name in &names {
        let named = output
            .iter()
            .filter(|output| output.contains(name.as_str()))
            .count();
        assert_eq!(named, 1, "{name}: {output:?}");
        assert!(is_whole(&board.card().join(name)), "{name}");
    }
    // The next start knows of all of them, whichever wrote the counter last.
    let mut next = board.record().unwrap();
    assert!(
        next.output().contains("trip-000013-3fa2c1"),
        "{}",
        next.output()
    );
    next.terminate().unwrap();
    let counter = || fs::read_to_string(board.card().join("trip-counter")).unwrap();
    assert!(wait_until(Duration::from_secs(1), || counter() == "13\n"));
    let leftovers = fs::read_dir(board.card()).unwrap().filter(|entry| {
        let name = entry.as_ref().unwrap().file_name();
        name.to_string_lossy().ends_with(".part")
    });
    assert_eq!(leftovers.count(), 0);
    println!("figure: recorder: 12 starts at once on one card: 12 trips with 12 numbers");
}

/// Whether the trip was begun and ended properly.
fn is_whole(trip: &Path) -> bool {
    let journal = fs::read_to_string(trip.join("journal.jsonl")).unwrap();
    trip.join("trip.json").is_file() && journal.contains("\"shutdown\"")
}
