//! A board that goes wrong in the middle of a pull: it says nothing any more, at each
//! stage, or never ends. A row a moment. The pull ends soon, says what to do, and the
//! next one goes on.

use std::fs;
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::thread;
use std::time::{Duration, Instant};

use crate::card;
use jumpseat_test_kit::{built, run, wait_until};

/// A card, a home, and a board in the place of ssh.
struct Board {
    folder: tempfile::TempDir,
}

impl Board {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        fs::create_dir(at("tools")).unwrap();
        symlink(built("hostile_board").unwrap(), at("tools/ssh")).unwrap();
        for number in 1..=2 {
            card::trip(&at("card"), number, &[50_000, 40_000, 1_200_000]);
        }
        Self { folder }
    }

    fn at(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// A pull from the board with this trick; what was said, and the exit code.
    fn pull(&self, trick: &str, more: &[&str]) -> (String, Option<i32>) {
        let path = std::env::var("PATH").unwrap();
        let mut command = Command::new(built("jumpseat").unwrap());
        command
            .env("PATH", format!("{}:{path}", self.at("tools").display()))
            .env("HOSTILE_BOARD", trick)
            .env("HOSTILE_BOARD_PID", self.at("pid"))
            .arg("--home")
            .arg(self.at("home"))
            .args(["pull", "--patience", "1"])
            .args(more);
        let output = run(&mut command).unwrap();
        let said = String::from_utf8_lossy(&output.stdout).into_owned()
            + &String::from_utf8_lossy(&output.stderr);
        (said, output.status.code())
    }

    fn address(&self) -> String {
        format!("ssh://board{}", self.at("card").display())
    }

    /// Fails unless the program in the place of ssh has ended.
    #[track_caller]
    fn has_ended(&self) {
        let pid = fs::read_to_string(self.at("pid")).unwrap();
        let process = PathBuf::from("/proc").join(pid);
        assert!(wait_until(Duration::from_secs(5), || !process.exists()));
    }

    fn comes_whole(&self) {
        let (said, code) = self.pull("calm", &[&self.address()]);
        assert_eq!(code, Some(0), "{said}");
        card::same(&self.at("card"), &self.at("home/trips"));
    }
}

/// The pull ends within this time for this reason, and the next one goes on.
#[track_caller]
fn check(trick: &str, within_s: u64, says: &str) {
    let board = Board::new();
    let begun = Instant::now();
    let (said, code) = board.pull(trick, &[&board.address()]);
    let took = begun.elapsed();
    assert_eq!(code, Some(1), "{trick}: {said}");
    assert!(said.contains(says), "{trick}: {said}");
    assert!(took < Duration::from_secs(within_s), "{trick}: {took:?}");
    board.has_ended();
    board.comes_whole();
}

#[test]
fn a_board_that_stops_answering_is_given_up_at_every_stage() {
    let nothing = "it sent nothing for 1 s";
    let stages = [
        "silent 17 1",  // what was asked for
        "silent 16 1",  // its whole name
        "silent 11 1",  // the listing of the card
        "silent 12 2",  // its end
        "silent 11 3",  // the listing of a trip
        "silent 3 1",   // the opening of trip.json
        "silent 5 2",   // in the midst of the journals
        "silent 7 1",   // the look at the lease
        "silent 6 1",   // touching it
        "silent 5 9",   // in the midst of the sound
        "silent 200 1", // the receipt
        "silent 3 14",  // the second trip
    ];
    // Each has boards of its own, and waits most of its time.
    thread::scope(|threads| {
        // While connecting it may take 15 s more.
        threads.spawn(|| check("silent 1 1", 25, "it sent nothing for 16 s"));
        // A byte now and then is no answer either.
        threads.spawn(|| check("dribble 5 3", 25, nothing));
        for stage in stages {
            threads.spawn(move || check(stage, 15, nothing));
        }
    });
    println!(
        "figure: pull: a board that stops answering at {} stages given up after its time, and gone on with",
        stages.len() + 2
    );
}

#[test]
fn a_listing_without_end_ends() {
    check("endless 12 1", 60, "more names than any folder");
}

#[test]
fn a_silent_board_does_not_keep_the_next_from_being_pulled() {
    let board = Board::new();
    fs::create_dir_all(board.at("home")).unwrap();
    fs::rename(
        board.at("card/trip-000002-3fa2c1"),
        board.at("trip-000002-3fa2c1"),
    )
    .unwrap();
    let boards = format!(
        "boards = [{:?}, {:?}]\n",
        board.address(),
        board.at("trip-000002-3fa2c1")
    );
    fs::write(board.at("home/station.toml"), boards).unwrap();
    let (said, code) = board.pull("silent 5 5", &[]);
    assert_eq!(code, Some(1), "{said}");
    assert!(said.contains("it sent nothing for 1 s"), "{said}");
    assert!(board.at("home/trips/trip-000002-3fa2c1").exists(), "{said}");
}

#[test]
fn a_file_that_the_boards_card_does_not_give_is_told_and_the_rest_comes() {
    let board = Board::new();
    let sound = "trip-000001-3fa2c1/audio/000002-rx.wav";
    let (said, code) = board.pull(
        &format!("broken {sound} input/output \\e[2Jerror"),
        &[&board.address()],
    );
    assert_eq!(code, Some(3), "{said}");
    let at_the_end = said.split("Not copied; the next pull tries again:").nth(1);
    let at_the_end = at_the_end.unwrap_or_default();
    assert!(
        at_the_end.contains(sound) && at_the_end.contains("input/output"),
        "{said}"
    );
    assert!(!said.contains('\u{1b}'), "{said:?}");
    let library = board.at("home/trips");
    assert!(!library.join(sound).exists());
    for there in [
        "trip-000001-3fa2c1/audio/000003-rx.wav",
        "trip-000002-3fa2c1",
    ] {
        assert!(library.join(there).exists(), "{there}");
    }
    let receipt = |number: u32| {
        let name = format!("card/receipts/trip-{number:06}-3fa2c1.json");
        board.at(&name).exists()
    };
    assert!(!receipt(1) && receipt(2));
    board.comes_whole();
    assert!(receipt(1));
}

/// Two boards whose trips have the same name, as a cloned card has them.
#[test]
fn two_boards_with_trips_of_one_name_are_both_kept() {
    let board = Board::new();
    let (said, code) = board.pull("calm", &[&board.address()]);
    assert_eq!(code, Some(0), "{said}");
    let first = board.at("first");
    fs::rename(board.at("card"), &first).unwrap();
    fs::create_dir(board.at("card")).unwrap();
    card::trip(&board.at("card"), 1, &[60_000, 40_000]);
    let other = board.at("card/trip-000001-3fa2c1");
    for file in [
        "audio/000001-rx.wav",
        "audio/000002-rx.wav",
        "journal.jsonl",
    ] {
        let mut bytes = fs::read(other.join(file)).unwrap();
        bytes.reverse();
        fs::write(other.join(file), bytes).unwrap();
    }
    let (said, code) = board.pull("calm", &[&board.address()]);
    assert_eq!(code, Some(0), "{said}");
    assert!(
        said.contains("already has a trip trip-000001-3fa2c1"),
        "{said}"
    );
    let count = |folder: &Path| fs::read_dir(folder).unwrap().count();
    // The lock is there too.
    assert_eq!(count(&board.at("home/trips")), 4);
    fs::remove_dir_all(board.at("card")).unwrap();
    fs::rename(&first, board.at("card")).unwrap();
    let (said, code) = board.pull("calm", &["--verify", &board.address()]);
    assert_eq!(code, Some(0), "{said}");
    assert!(said.contains("Nothing new."), "{said}");
}
