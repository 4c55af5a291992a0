//! A nearly full card with hostile receipts and folders on it: the recorder reads none of
//! them without a limit, follows no link, waits for no pipe, still removes what is safe at
//! home, and records.

use std::fs;
use std::os::unix::fs::symlink;
use std::path::{Path, PathBuf};
use std::time::Duration;

use jumpseat_recorder::card_layout::MAX_RECEIPT_BYTES;
use jumpseat_test_kit::{copy_folder, wait_until};
use jumpseat_tests::board::TestBoard;
use jumpseat_tests::parts::make_fifo;
use jumpseat_tests::receipt::{receipt_file, receipt_text};

use crate::sound_boards::{board_with_sound, board_without_sound, noise};

/// Most memory that the recorder may take; it takes 15 MiB without any of this. The
/// package's unit ends it at twice this limit.
const MOST_MIB: f64 = 48.0;
const UNIT: &str = include_str!("../../../firmware/package/jumpseat-recorder.service");
/// Limits the files of the pull account, in KiB, to the longest receipt that is read.
const LIMITS: &str = include_str!("../../../firmware/package/limits.conf");
/// A folder of the owner outside the card, to which links on the card lead.
const OUTSIDE: &str = "outside";

fn trip(number: u32) -> String {
    format!("trip-{number:06}-3fa2c1")
}

/// A card as prepared before the recorder starts on it.
struct ReceiptCard {
    board: TestBoard,
}

impl ReceiptCard {
    /// One trip of the board itself, ended properly.
    fn new() -> Self {
        let board = board_without_sound();
        board.record().unwrap().terminate().unwrap();
        fs::create_dir(board.card().join("receipts")).unwrap();
        Self { board }
    }

    fn at(&self, name: &str) -> PathBuf {
        self.board.card().join(name)
    }

    fn receipt(&self, number: u32) -> PathBuf {
        self.at(&format!("receipts/{}.json", trip(number)))
    }

    /// The same trip again under another number.
    fn copy(&self, number: u32) -> PathBuf {
        let to = self.at(&trip(number));
        copy_folder(&self.at(&trip(1)), &to).unwrap();
        fs::write(to.join("audio/000001-rx.wav"), [7; 1000]).unwrap();
        to
    }

    /// Writes the home computer's receipt of a trip, following links.
    fn confirm(&self, number: u32) {
        let folder = self.at(&trip(number));
        let mut files = Vec::new();
        gather(&folder, "", &mut files);
        let text = receipt_text(&trip(number), &files);
        fs::write(self.receipt(number), text).unwrap();
    }
}

fn gather(folder: &Path, prefix: &str, files: &mut Vec<serde_json::Value>) {
    for entry in fs::read_dir(folder).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        let (path, relative) = (folder.join(&name), format!("{prefix}{name}"));
        if path.is_dir() {
            gather(&path, &format!("{relative}/"), files);
        } else if path.is_file() {
            let bytes = fs::read(&path).unwrap();
            files.push(receipt_file(&relative, &bytes));
        }
    }
}

/// Prepares trip 2 and its receipt, and starts the recorder on the card, which is nearly
/// full: trips 1 and 9 are confirmed and are removed, trip 2 stays. Returns the recorder's
/// peak memory.
#[track_caller]
fn check(what: &str, prepare: impl FnOnce(&ReceiptCard)) -> f64 {
    let card = ReceiptCard::new();
    let elsewhere = card.board.path(OUTSIDE);
    fs::create_dir_all(elsewhere.join("audio")).unwrap();
    for name in ["trip.json", "journal.jsonl", "audio/000001-rx.wav"] {
        fs::write(elsewhere.join(name), "of the owner").unwrap();
    }
    card.copy(9);
    for number in [1, 9] {
        card.confirm(number);
    }
    prepare(&card);
    let board = card.board.with_card("nearly_full_mib = 1000000000");
    let board = board.with_card("transmit_only_mib = 0");
    let mut recorder = board.record().unwrap();
    let is_removed = |number| !board.card().join(trip(number)).exists();
    let freed = wait_until(Duration::from_secs(20), || is_removed(1) && is_removed(9));
    let usage = recorder.usage();
    assert!(freed, "{what}: nothing was freed: {}", recorder.output());
    let peak = usage.unwrap().peak_mib;
    assert!(peak < MOST_MIB, "{what}: {peak} MiB");
    recorder.terminate().unwrap();
    let left = fs::symlink_metadata(board.card().join(trip(2)));
    assert!(left.is_ok(), "{what}: {}", recorder.output());
    for name in ["trip.json", "journal.jsonl", "audio/000001-rx.wav"] {
        let kept = fs::read_to_string(elsewhere.join(name));
        assert!(
            kept.is_ok_and(|text| text == "of the owner"),
            "{what}: {name}"
        );
    }
    peak
}

#[test]
fn no_receipt_is_read_without_end_and_no_pipe_is_waited_for() {
    let mut peak = check("nothing hostile", |card| drop(card.copy(2)));
    let mut worst = |what, prepare: fn(&ReceiptCard)| peak = f64::max(peak, check(what, prepare));
    worst("a link to endless zeros", |card| {
        card.copy(2);
        symlink("/dev/zero", card.receipt(2)).unwrap();
    });
    worst("a pipe", |card| {
        card.copy(2);
        make_fifo(&card.receipt(2)).unwrap();
    });
    worst("a sparse file of 1 GB", |card| {
        card.copy(2);
        let file = fs::File::create(card.receipt(2)).unwrap();
        file.set_len(1 << 30).unwrap();
    });
    worst("deep JSON", |card| {
        card.copy(2);
        let deep = "[".repeat(2_000_000) + &"]".repeat(2_000_000);
        fs::write(card.receipt(2), format!("{{\"files\":{deep}}}")).unwrap();
    });
    worst("as many files as a receipt has room for", |card| {
        card.copy(2);
        let one = "{\"path\":\"\",\"bytes\":0,\"sha256\":\"\"},";
        let all = one.repeat((4 << 20) / one.len() - 10);
        let all = all.trim_end_matches(',');
        let text = format!(
            "{{\"format\":1,\"trip\":\"{}\",\"files\":[{all}]}}",
            trip(2)
        );
        fs::write(card.receipt(2), text).unwrap();
    });
    worst("a folder in the receipt's place", |card| {
        card.copy(2);
        fs::create_dir(card.receipt(2)).unwrap();
    });
    worst("a sparse sound file of 1 TB", |card| {
        let trip = card.copy(2);
        card.confirm(2);
        let path = trip.join("audio/000001-rx.wav");
        let file = fs::OpenOptions::new().write(true).open(path).unwrap();
        file.set_len(1 << 40).unwrap();
    });
    worst("a pipe for a sound file", |card| {
        let trip = card.copy(2);
        card.confirm(2);
        fs::remove_file(trip.join("audio/000001-rx.wav")).unwrap();
        make_fifo(&trip.join("audio/000001-rx.wav")).unwrap();
    });
    println!("figure: recorder: hostile receipts on a nearly full card: {peak:.0} MiB at most");
}

#[test]
fn the_package_gives_the_recorder_twice_what_it_takes_and_receipts_what_it_reads() {
    assert!(UNIT.contains(&format!("MemoryMax={:.0}M\n", 2.0 * MOST_MIB)));
    let fsize = format!("jumpseat-pull - fsize {}\n", MAX_RECEIPT_BYTES / 1024);
    assert!(LIMITS.contains(&fsize), "no {fsize:?} in {LIMITS}");
}

#[test]
fn nothing_goes_through_a_link() {
    let to_outside = |card: &ReceiptCard, name: &str| card.board.path(OUTSIDE).join(name);
    check("a trip's folder that is a link", |card| {
        symlink(to_outside(card, ""), card.at(&trip(2))).unwrap();
        card.confirm(2);
    });
    check("a sound folder that is a link", |card| {
        let trip = card.copy(2);
        fs::remove_dir_all(trip.join("audio")).unwrap();
        symlink(to_outside(card, "audio"), trip.join("audio")).unwrap();
        card.confirm(2);
    });
    check("a sound file that is a link", |card| {
        let path = card.copy(2).join("audio/000001-rx.wav");
        fs::remove_file(&path).unwrap();
        symlink(to_outside(card, "audio/000001-rx.wav"), path).unwrap();
        card.confirm(2);
    });
    check("a trip that was going, with links in it", |card| {
        card.copy(2);
        let going = card.at(&format!(".going-{}", trip(3)));
        fs::create_dir(&going).unwrap();
        symlink(to_outside(card, "audio"), going.join("audio")).unwrap();
        symlink(to_outside(card, "trip.json"), going.join("trip.json")).unwrap();
        make_fifo(&going.join("journal.jsonl")).unwrap();
    });
    check("a trip that was going, itself a link", |card| {
        card.copy(2);
        let going = card.at(&format!(".going-{}", trip(3)));
        symlink(to_outside(card, ""), going).unwrap();
    });
}

#[test]
fn receipts_without_end_go_and_cost_no_memory() {
    let peak = check("100,000 receipts", |card| {
        card.copy(2);
        for number in 1_000..101_000 {
            fs::write(card.receipt(number), "{}").unwrap();
        }
        fs::write(card.at("receipts/of-mine.txt"), "{}").unwrap();
        symlink("/dev/zero", card.at("receipts/zeros")).unwrap();
        make_fifo(&card.at("receipts/pipe")).unwrap();
    });
    println!("figure: recorder: 100,000 receipts of no trip: {peak:.0} MiB at most");
}

#[test]
fn what_belongs_to_no_trip_goes_out_of_the_receipts_and_what_does_stays() {
    let (board, _sound) = board_with_sound(noise(20));
    let receipts = board.card().join("receipts");
    fs::create_dir(&receipts).unwrap();
    let name = trip(1);
    // Trip 7 left a receipt and trip 1 is not on the card, so the new trip is the eighth,
    // and none of these receipts belongs to it.
    let own = [format!("{name}.json"), format!(".{name}.json.part")];
    let foreign = [
        format!("{}.json", trip(7)),
        "x".to_owned(),
        format!("{name}.txt"),
    ];
    for name in own.iter().chain(&foreign) {
        fs::write(receipts.join(name), "{}").unwrap();
    }
    fs::create_dir(receipts.join("folder")).unwrap();
    let mut recorder = board.record().unwrap();
    let names = || {
        let mut names: Vec<String> = fs::read_dir(&receipts)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    };
    recorder
        .wait_until("tidy receipts", || names() == ["folder"])
        .unwrap();
    recorder.terminate().unwrap();
    let eighth = trip(8);
    let own = [format!(".{eighth}.json.part"), format!("{eighth}.json")];
    for name in &own {
        fs::write(receipts.join(name), "{}").unwrap();
    }
    fs::write(receipts.join("x"), "{}").unwrap();
    let mut recorder = board.record().unwrap();
    let tidied = || !receipts.join("x").exists();
    recorder.wait_until("tidy receipts", tidied).unwrap();
    recorder.terminate().unwrap();
    assert_eq!(names(), [&own[0], "folder", &own[1]]);
}
