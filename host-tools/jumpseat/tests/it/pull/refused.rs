//! What a pull refuses: too much, too deep, no plain file, a way out of the library.

use std::fs;

use super::JOURNAL;
use crate::case::{HomeCase, TRIP, names};

#[test]
fn a_source_with_too_much_is_refused() {
    let case = HomeCase::with_card();
    let huge = fs::File::create(case.card().join("audio/000099-rx.wav")).unwrap();
    // Sparse: a length that takes no room.
    huge.set_len(2_000_000_000).unwrap();
    case.run(&["pull", "card", "--at-most-gb", "1"])
        .code(1)
        .says(&["more than the limit of this pull", "--at-most-gb 3"]);
    assert!(!case.pulled().exists());
    huge.set_len((1 << 32) + 1).unwrap();
    case.run(&["pull", "card"])
        .code(3)
        .says(&["longer than any recording; it was left out"]);
    assert!(!case.pulled().join("audio/000099-rx.wav").exists());
}

#[cfg(unix)]
#[test]
fn a_source_that_would_fill_the_disk_is_refused() {
    let case = HomeCase::with_card();
    // Sparse: 8 TB that take no room.
    for number in 100..2_000 {
        let path = case.card().join(format!("audio/{number:06}-rx.wav"));
        fs::File::create(path).unwrap().set_len(1 << 32).unwrap();
    }
    case.run(&["pull", "card", "--at-most-gb", "100000"])
        .code(1)
        .says(&["free", "are to be copied", "Make room"]);
    assert!(!case.pulled().exists());
}

#[test]
fn a_journal_of_gigabytes_stays_outside() {
    let case = HomeCase::with_card();
    let journal = fs::File::options()
        .write(true)
        .open(case.card().join(JOURNAL))
        .unwrap();
    journal.set_len(3_000_000_000).unwrap();
    case.run(&["pull", "card"])
        .code(3)
        .says(&["longer than any journal; it was left out"]);
    assert!(!case.pulled().join(JOURNAL).exists());
    assert!(!case.at("card/receipts").exists());
}

/// What the hostile card holds beside the trip's own files; nothing of it comes.
#[cfg(unix)]
#[track_caller]
fn check_hostile(says: &str, make: impl FnOnce(&std::path::Path)) {
    let case = HomeCase::with_card();
    case.write("secret", "of this computer");
    make(&case.card());
    case.run(&["pull", "card"]).code(3).says(&[says]);
    let mut all = names(&case.pulled());
    all.retain(|name| !name.starts_with('.'));
    assert_eq!(all, ["audio", JOURNAL, "trip.json"]);
    assert!(!case.at("card/receipts").exists());
}

#[cfg(unix)]
#[test]
fn what_is_no_plain_file_of_a_trip_stays_outside() {
    use std::os::unix::fs::symlink;
    use std::os::unix::net::UnixListener;
    let odd = "cannot be a file name on this computer; it was left out";
    let neither = "neither file nor folder; it was left out";
    check_hostile(neither, |trip| {
        symlink("../../secret", trip.join("x")).unwrap()
    });
    check_hostile(neither, |trip| symlink("/etc", trip.join("x")).unwrap());
    check_hostile(neither, |trip| {
        UnixListener::bind(trip.join("x")).unwrap();
    });
    check_hostile(odd, |trip| fs::write(trip.join("..\\up"), "").unwrap());
    check_hostile(odd, |trip| fs::write(trip.join("\u{1b}[2J"), "").unwrap());
    check_hostile(odd, |trip| {
        fs::write(trip.join("n".repeat(200)), "").unwrap()
    });
    check_hostile("is nested too deeply", |trip| {
        fs::create_dir_all(trip.join("audio/b/c/d/e/f")).unwrap();
    });
}

#[test]
fn a_trip_that_calls_itself_a_way_out_stays_under_its_folders_name() {
    let case = HomeCase::with_card();
    let header = r#"{"format":1,"trip":1,"board":"../../../elsewhere","boot":"9f2c41d0"}"#;
    fs::write(case.card().join("trip.json"), header).unwrap();
    let ran = case.run(&["pull", "card"]);
    assert_eq!(
        names(&case.at("home/trips")),
        [".lock", TRIP],
        "{}",
        ran.out
    );
    assert!(!case.at("elsewhere").exists() && !case.at("home/elsewhere").exists());
}

#[test]
fn an_address_that_is_none_starts_nothing() {
    let case = HomeCase::empty();
    case.run(&["pull", "ssh://-oProxyCommand=touch%20x"])
        .code(2)
        .says(&["is not the address of a board"]);
}
