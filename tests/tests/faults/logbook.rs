//! The logbook on a disk that is full or read-only, and commands that are killed: what a
//! person did stays, looking always works, and the words say what to do.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Duration;

use jumpseat_logbook::{EntryFilter, Logbook};
use jumpseat_test_kit::{CommandReply, TestHome, built, path_text, run};

/// A file system of its own, in memory; it goes with the value.
struct SmallDisk {
    folder: tempfile::TempDir,
}

impl SmallDisk {
    /// `None`, told, where this user may not mount.
    fn of(kilobytes: u32) -> Option<Self> {
        let folder = tempfile::tempdir().unwrap();
        let size = format!("size={kilobytes}k");
        let mounted = run(Command::new("mount")
            .args(["-t", "tmpfs", "-o", &size, "tmpfs"])
            .arg(folder.path()));
        match mounted {
            Ok(output) if output.status.success() => Some(Self { folder }),
            other => {
                println!("skipped: no file system can be mounted here: {other:?}");
                None
            }
        }
    }

    fn at(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn home(&self, arguments: &[&str]) -> CommandReply {
        TestHome::in_folder(self.folder.path()).run(arguments)
    }

    /// Takes all room but so much.
    fn fill(&self, but: u64) {
        let stuffing = self.at("stuffing");
        let mut size = 0_u64;
        let mut step = 1 << 24;
        // Allocated, not sparse: what fits is found by halves.
        while step >= 4096 {
            let more = vec![1_u8; step];
            let grown = fs::OpenOptions::new()
                .create(true)
                .append(true)
                .open(&stuffing)
                .and_then(|mut file| std::io::Write::write_all(&mut file, &more));
            match grown {
                Ok(()) => size += step as u64,
                Err(_) => {
                    let file = fs::OpenOptions::new().write(true).open(&stuffing).unwrap();
                    file.set_len(size).unwrap();
                    step /= 2;
                }
            }
        }
        let file = fs::OpenOptions::new().write(true).open(&stuffing).unwrap();
        file.set_len(size.saturating_sub(but)).unwrap();
    }

    fn read_only(&self) {
        let remounted = run(Command::new("mount")
            .args(["-o", "remount,ro"])
            .arg(self.folder.path()));
        assert!(remounted.unwrap().status.success());
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = Command::new("umount")
            .arg("-l")
            .arg(self.folder.path())
            .status();
    }
}

/// A log of so many contacts.
fn log(path: &Path, contacts: usize, year: u32) {
    let records: Vec<String> = (0..contacts)
        .map(|n| {
            let (day, hour) = (n / 24 % 28 + 1, n % 24);
            let month = n / 672 + 1;
            format!(
                "<CALL:5>K1QRM<QSO_DATE:8>{year}{month:02}{day:02}<TIME_ON:4>{hour:02}00<EOR>\n"
            )
        })
        .collect();
    fs::write(path, records.concat()).unwrap();
}

/// What only looks, each with a part of what it says.
const LOOKING: [(&[&str], &str); 5] = [
    (&["log"], "of 300"),
    (&["trips"], "There is no trip"),
    (&["export", "--list"], "Nothing was exported"),
    (&["undo", "--list"], "imported 300 contacts"),
    (&["log", "--backups"], "backup"),
];

#[track_caller]
fn looks(disk: &SmallDisk) {
    for (arguments, says) in LOOKING {
        disk.home(arguments).ended(0).says(&[says]);
    }
}

/// A home with 300 contacts on a disk of its own, and a log of as many others beside.
fn filled(kilobytes: u32) -> Option<SmallDisk> {
    let disk = SmallDisk::of(kilobytes)?;
    log(&disk.at("a.adi"), 300, 2024);
    log(&disk.at("b.adi"), 300, 2025);
    disk.home(&["import", "--within", "0", path_text(&disk.at("a.adi"))])
        .ended(0)
        .says(&["300 new"]);
    Some(disk)
}

fn hidden(folder: &Path) -> Vec<PathBuf> {
    let paths = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path());
    paths
        .filter(|path| path.file_name().unwrap().to_string_lossy().starts_with('.'))
        .collect()
}

#[test]
fn a_full_disk_is_named_and_costs_nothing() {
    let Some(disk) = filled(16 << 10) else { return };
    disk.fill(0);
    looks(&disk);
    let other = disk.at("b.adi");
    let out = disk.at("out.adi");
    for arguments in [
        &["import", path_text(&other)][..],
        &["undo"],
        &["confirm", "1", "--call", "KB0QSE"],
    ] {
        let said = disk.home(arguments);
        said.ended(1)
            .says(&["logbook.sqlite", "the disk is full", "Make room"]);
        assert!(!said.error.contains("disk I/O error"), "{}", said.error);
    }
    disk.home(&[
        "export",
        "--format",
        "adif",
        "--all",
        "--out",
        path_text(&out),
    ])
    .ended(1)
    .says(&["room"]);
    assert!(!out.exists());
    disk.home(&["log", "--backup"]).ended(1).says(&["room"]);
    assert!(hidden(&disk.at("")).is_empty());
    looks(&disk);
    fs::remove_file(disk.at("stuffing")).unwrap();
    disk.home(&["import", "--within", "0", path_text(&other)])
        .ended(0)
        .says(&["300 new"]);
    disk.home(&["undo"])
        .ended(0)
        .says(&["imported 300 contacts"]);
    looks(&disk);
}

#[test]
fn a_backup_without_room_is_a_warning() {
    let Some(disk) = filled(16 << 10) else { return };
    let logbook = fs::metadata(disk.at("home/logbook.sqlite")).unwrap().len();
    // Room for the change of one entry, and not for a copy of the logbook.
    disk.fill(logbook / 2);
    let confirmed = disk.home(&["confirm", "1", "--call", "KB0QSE"]);
    confirmed.done().says(&[
        "warning: no backup of the logbook was made",
        "the disk is full",
        "Confirmed",
    ]);
    let folder = disk.at("home/logbook-backups");
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 0);
    looks(&disk);
}

#[test]
fn a_read_only_home_is_looked_at() {
    let Some(disk) = filled(16 << 10) else { return };
    disk.read_only();
    looks(&disk);
    for arguments in [
        &["import", path_text(&disk.at("b.adi"))][..],
        &["undo"],
        &["log", "--backup"],
    ] {
        disk.home(arguments).ended(1).says(&["ead-only"]);
    }
}

#[test]
fn changes_that_lie_beside_a_read_only_logbook_are_seen() {
    let Some(disk) = SmallDisk::of(16 << 10) else {
        return;
    };
    let elsewhere = tempfile::tempdir().unwrap();
    let path = elsewhere.path().join("logbook.sqlite");
    log(&disk.at("a.adi"), 300, 2024);
    let contacts: Vec<_> = jumpseat_formats::adif::read(&fs::read(disk.at("a.adi")).unwrap())
        .records
        .into_iter()
        .map(|told| told.contact)
        .collect();
    let mut book = Logbook::open(&path).unwrap();
    book.import("a.adi", &contacts, false, || ()).unwrap();
    fs::create_dir(disk.at("home")).unwrap();
    // As a machine leaves them that lost its power: the file, and what was not yet
    // taken into it.
    for word in ["", "-wal"] {
        let name = format!("logbook.sqlite{word}");
        fs::copy(elsewhere.path().join(&name), disk.at("home").join(&name)).unwrap();
    }
    assert_eq!(book.entries(&EntryFilter::All).unwrap().len(), 300);
    disk.read_only();
    looks(&disk);
}

#[test]
fn a_restore_that_is_killed_leaves_a_whole_logbook() {
    let folder = TestHome::empty().unwrap();
    let at = |name: &str| folder.at(name);
    let home = |arguments: &[&str]| folder.run(arguments);
    log(&at("a.adi"), 300, 2024);
    log(&at("b.adi"), 200, 2025);
    let small = at("small.sqlite");
    let large = at("large.sqlite");
    home(&["import", "--within", "0", path_text(&at("a.adi"))])
        .ended(0)
        .says(&["300 new"]);
    home(&["log", "--backup", path_text(&small)])
        .ended(0)
        .says(&["small.sqlite"]);
    home(&["import", "--within", "0", path_text(&at("b.adi"))])
        .ended(0)
        .says(&["200 new"]);
    home(&["log", "--backup", path_text(&large)])
        .ended(0)
        .says(&["large.sqlite"]);
    let mut killed = 0;
    for round in 0..40_u64 {
        let from = if round % 2 == 0 { &small } else { &large };
        let mut child = Command::new(built("jumpseat").unwrap())
            .arg("--home")
            .arg(at("home"))
            .args(["log", "--restore"])
            .arg(from)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        // Up to a tenth of a second, and most of them early: a quick machine is done soon.
        std::thread::sleep(Duration::from_micros(round * round * 75));
        killed += usize::from(child.try_wait().unwrap().is_none());
        child.kill().unwrap();
        child.wait().unwrap();
        let said = home(&["log"]);
        assert_eq!(said.code, Some(0), "{}", said.error);
        let whole = ["of 300,", "of 500,"]
            .iter()
            .any(|many| said.out.contains(many));
        assert!(whole, "{}", said.out);
    }
    assert!(
        killed > 3,
        "{killed} of 40 were killed before they were done"
    );
    println!("figure: {killed} of 40 restores killed, a whole logbook after each");
    home(&["log", "--restore", path_text(&large)])
        .ended(0)
        .says(&["Restored: 500 entries"]);
    assert!(hidden(&at("home")).is_empty());
}
