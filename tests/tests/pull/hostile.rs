//! A hostile board: a row a trick. Nothing comes to lie outside the library, nothing
//! runs, nothing fills the disk; the trip's own files come all the same.

use std::fs::{self, File};
use std::os::unix::fs::symlink;
use std::os::unix::net::UnixListener;
use std::path::Path;
use std::process::Command;

use crate::card;
use crate::server::Server;
use jumpseat_test_kit::run;

/// The rows that were tried.
struct Table {
    server: Server,
    rows: usize,
}

/// What becomes of the trip in which the trick is.
#[derive(Clone, Copy, PartialEq)]
enum Expected {
    /// It comes without it, and a doubt says this.
    Without(&'static str),
    /// The trick is no more than a file.
    Harmless,
    /// Nothing comes, for this reason.
    Refused(&'static str),
}

impl Table {
    /// Plays a trick with the trip's folder on the card, and pulls.
    #[track_caller]
    fn check(&mut self, expected: Expected, trick: impl FnOnce(&Path)) {
        self.rows += 1;
        let (card, home) = (self.server.card(), self.server.at("home"));
        let trip = card.join("trip-000001-3fa2c1");
        card::trip(&card, 1, &[50_000]);
        let outside = self.server.at("outside");
        fs::create_dir_all(&outside).unwrap();
        fs::write(outside.join("file"), "kept").unwrap();
        trick(&trip);
        let mut pulling = self.server.pulling(self.server.port, &home);
        let output = run(pulling.current_dir(self.server.at(""))).unwrap();
        let (out, err) = (output.stdout, output.stderr);
        let said = String::from_utf8_lossy(&out).into_owned() + &String::from_utf8_lossy(&err);
        let code = output.status.code();
        let pulled = home.join("trips/trip-000001-3fa2c1");
        match expected {
            Expected::Without(says) => {
                assert_eq!(code, Some(3), "{said}");
                assert!(said.contains(says), "{said}");
                assert!(pulled.join("audio/000001-rx.wav").exists(), "{said}");
                assert!(
                    !card.join("receipts/trip-000001-3fa2c1.json").exists(),
                    "{said}"
                );
            }
            Expected::Harmless => {
                assert_eq!(code, Some(0), "{said}");
                card::same(&card, &home.join("trips"));
            }
            Expected::Refused(says) => {
                assert_eq!(code, Some(1), "{said}");
                assert!(said.contains(says), "{said}");
                assert!(!pulled.exists(), "{said}");
            }
        }
        // Not a byte of it reaches the terminal raw, the disk or a shell.
        assert!(!said.contains('\u{1b}'), "{said:?}");
        for never in ["ran", "up", "elsewhere"] {
            assert!(!self.server.at(never).exists(), "{never}");
        }
        assert_eq!(fs::read_dir(&outside).unwrap().count(), 1);
        assert_eq!(fs::read_to_string(outside.join("file")).unwrap(), "kept");
        assert!(size(&home) < 1_000_000);
        assert!(no_link_in(&home));
        for gone in [&card, &home] {
            fs::remove_dir_all(gone).unwrap();
        }
        fs::create_dir(&card).unwrap();
    }
}

fn files(folder: &Path) -> Vec<fs::DirEntry> {
    let Ok(entries) = fs::read_dir(folder) else {
        return Vec::new();
    };
    let mut all = Vec::new();
    for entry in entries.map(Result::unwrap) {
        if entry.file_type().unwrap().is_dir() {
            all.extend(files(&entry.path()));
        }
        all.push(entry);
    }
    all
}

fn size(folder: &Path) -> u64 {
    let files = files(folder);
    files
        .iter()
        .map(|entry| entry.metadata().unwrap().len())
        .sum()
}

fn no_link_in(folder: &Path) -> bool {
    let files = files(folder);
    !files
        .iter()
        .any(|entry| entry.file_type().unwrap().is_symlink())
}

fn pipe(path: &Path) {
    let made = run(Command::new("mkfifo").arg(path)).unwrap();
    assert!(made.status.success());
}

fn sparse(path: &Path, bytes: u64) {
    let file = File::create(path).unwrap();
    file.set_len(bytes).unwrap();
}

#[test]
fn no_trick_of_a_board_gets_out_of_the_library() {
    use Expected::{Harmless, Refused, Without};
    let odd = Without("cannot be a file name on this computer");
    let neither = Without("neither file nor folder");
    let mut table = Table {
        server: Server::start(),
        rows: 0,
    };
    table.check(neither, |trip| {
        symlink("/etc/passwd", trip.join("x")).unwrap()
    });
    table.check(neither, |trip| {
        symlink("../../elsewhere", trip.join("x")).unwrap()
    });
    table.check(neither, |trip| symlink("/etc", trip.join("x")).unwrap());
    table.check(neither, |trip| {
        symlink("/dev/zero", trip.join("audio/000009-rx.wav")).unwrap()
    });
    table.check(neither, |trip| {
        UnixListener::bind(trip.join("x")).unwrap();
    });
    table.check(neither, |trip| pipe(&trip.join("audio/000009-rx.wav")));
    table.check(odd, |trip| fs::write(trip.join("..\\..\\up"), "").unwrap());
    table.check(odd, |trip| fs::write(trip.join("\u{1b}[2J"), "").unwrap());
    table.check(odd, |trip| fs::write(trip.join("two\nlines"), "").unwrap());
    table.check(odd, |trip| {
        fs::write(trip.join("n".repeat(200)), "").unwrap()
    });
    table.check(odd, |trip| fs::create_dir(trip.join("C:")).unwrap());
    table.check(Without("is nested too deeply"), |trip| {
        fs::create_dir_all(trip.join("a/b/c/d/e/f/g")).unwrap();
    });
    table.check(Without("longer than any recording"), |trip| {
        sparse(&trip.join("audio/000009-rx.wav"), 1 << 40);
    });
    table.check(Without("longer than any journal"), |trip| {
        sparse(&trip.join("journal-2.jsonl"), 3 << 30);
    });
    table.check(Refused("more than the limit of this pull"), |trip| {
        for number in 10..30 {
            sparse(&trip.join(format!("audio/{number:06}-rx.wav")), 4 << 30);
        }
    });
    table.check(Harmless, |trip| {
        fs::write(trip.join("$(touch ran)"), "x").unwrap()
    });
    table.check(Harmless, |trip| {
        fs::write(trip.join("; touch ran;"), "x").unwrap()
    });
    table.check(Harmless, |trip| {
        fs::write(trip.join("-oProxyCommand=touch ran"), "x").unwrap()
    });
    table.check(Harmless, |trip| {
        let header = r#"{"format":1,"trip":1,"board":"../../../elsewhere"}"#;
        fs::write(trip.join("trip.json"), header).unwrap();
    });
    table.check(Harmless, |trip| {
        let record = r#"{"seq":1,"boot":"9f2c41d0","mono_ns":1,"event":{"segment_opened":"#;
        fs::write(trip.join("journal.jsonl"), record.repeat(1000)).unwrap();
    });
    // Where the receipt and the lease are to be written.
    let in_card = |trip: &Path, name: &str| trip.parent().unwrap().join(name);
    let receipt = "receipts/trip-000001-3fa2c1.json";
    let unfinished = "receipts/.trip-000001-3fa2c1.json.part";
    table.check(Harmless, |trip| {
        symlink("../outside", in_card(trip, "receipts")).unwrap()
    });
    table.check(Harmless, |trip| {
        symlink("../elsewhere", in_card(trip, "receipts")).unwrap()
    });
    for name in [receipt, unfinished] {
        for to in ["../../outside/file", "../../elsewhere"] {
            table.check(Harmless, |trip| {
                fs::create_dir(in_card(trip, "receipts")).unwrap();
                symlink(to, in_card(trip, name)).unwrap();
            });
        }
        table.check(Harmless, |trip| {
            fs::create_dir(in_card(trip, "receipts")).unwrap();
            pipe(&in_card(trip, name));
        });
    }
    for to in ["../outside/file", "../elsewhere"] {
        table.check(Harmless, |trip| {
            symlink(to, in_card(trip, "pull-lease")).unwrap()
        });
    }
    table.check(Harmless, |trip| pipe(&in_card(trip, "pull-lease")));
    // A journal, a header or a receipt that never ends.
    table.check(neither, |trip| {
        fs::remove_file(trip.join("trip.json")).unwrap();
        symlink("/dev/zero", trip.join("trip.json")).unwrap();
    });
    table.check(neither, |trip| {
        fs::remove_file(trip.join("journal.jsonl")).unwrap();
        pipe(&trip.join("journal.jsonl"));
    });
    table.check(Harmless, |trip| {
        fs::create_dir(in_card(trip, "receipts")).unwrap();
        sparse(&in_card(trip, receipt), 1 << 40);
    });
    println!(
        "figure: pull: {} tricks of a hostile board, none got out of the library",
        table.rows
    );
}
