//! A trip that is being recorded while it is pulled, and one that only looks so.

use std::fs::{self, File};
use std::io::Write as _;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::{Duration, SystemTime};

use super::JOURNAL;
use crate::case::{HomeCase, TRIP, names};

/// A card with a trip whose last file is still open, as the board writes it; the whole
/// journal, and the name of that file.
fn open_trip() -> (HomeCase, String, String) {
    let case = HomeCase::with_card();
    let whole = fs::read_to_string(case.card().join(JOURNAL)).unwrap();
    let last = names(&case.card().join("audio")).pop().unwrap();
    let number = last[..6].parse::<u32>().unwrap();
    let closed = format!("\"segment_closed\":{{\"segment\":{number},");
    let ends = |line: &&str| line.contains(&closed) || line.contains("\"shutdown\"");
    let open: Vec<&str> = whole.lines().filter(|line| !ends(line)).collect();
    assert_eq!(open.len(), whole.lines().count() - 2);
    // The board writes WAV, whose name the journal stands for.
    let wav = last.replace("flac", "wav");
    let audio = case.card().join("audio");
    fs::rename(audio.join(&last), audio.join(&wav)).unwrap();
    fs::write(case.card().join(JOURNAL), open.join("\n") + "\n").unwrap();
    (case, whole, wav)
}

#[test]
fn a_trip_that_is_being_recorded_comes_up_to_its_last_closed_file_and_is_completed_later() {
    let (case, whole, wav) = open_trip();
    let done = AtomicBool::new(false);
    thread::scope(|scope| {
        scope.spawn(|| {
            let journal = File::options().append(true).open(case.card().join(JOURNAL));
            let mut journal = journal.unwrap();
            while !done.load(Ordering::SeqCst) {
                journal.write_all(b"\n").unwrap();
                thread::sleep(Duration::from_millis(20));
            }
        });
        let ran = case.run(&["pull", "card"]);
        done.store(true, Ordering::SeqCst);
        ran.code(0).says(&[
            "16 files copied",
            "still being recorded; the next pull copies the rest",
        ]);
    });
    assert!(!case.pulled().join("audio").join(wav).exists());
    assert!(!case.at("card/receipts").exists());

    // What the board writes is what it wrote, and more.
    let pulled = fs::read_to_string(case.pulled().join(JOURNAL)).unwrap();
    let rest: Vec<&str> = whole
        .lines()
        .filter(|line| !pulled.contains(line))
        .collect();
    fs::write(case.card().join(JOURNAL), pulled + &rest.join("\n") + "\n").unwrap();
    case.run(&["pull", "card"])
        .code(0)
        .says(&["2 files copied"]);
    assert_eq!(
        names(&case.pulled().join("audio")),
        names(&case.card().join("audio"))
    );
    assert!(case.at("card/receipts").exists());
    case.run(&["pull", "card"]).code(0).says(&["Nothing new."]);
}

/// The journal was written so long after this moment; all of the trip comes at once.
#[track_caller]
fn check_ended(ahead: Duration) {
    let (case, _, wav) = open_trip();
    let journal = File::options().append(true).open(case.card().join(JOURNAL));
    journal
        .unwrap()
        .set_modified(SystemTime::now() + ahead)
        .unwrap();
    case.run(&["pull", "card"])
        .code(0)
        .says(&["17 files copied"]);
    assert!(case.pulled().join("audio").join(wav).exists());
    assert!(case.at(&format!("card/receipts/{TRIP}.json")).exists());
    case.run(&["pull", "card"]).code(0).says(&["Nothing new."]);
}

#[test]
fn a_card_in_a_reader_is_not_running_whatever_its_clock_says() {
    // In the card's own time zone; by a board that does not know the date.
    check_ended(Duration::from_secs(3_600));
    check_ended(Duration::from_secs(400 * 86_400));
    // The power was cut a moment ago.
    check_ended(Duration::ZERO);
}
