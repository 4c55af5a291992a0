//! Backups and what they are for.

use std::fs;
use std::path::PathBuf;
use std::sync::atomic::{AtomicUsize, Ordering};

use super::*;
use crate::backup_files::{BackupReason, backup_folder, backups};
use crate::book::backup::restore;
use jumpseat_files::with_suffix;

/// A logbook with two entries, a correction and an undo; closed.
fn filled() -> (tempfile::TempDir, PathBuf) {
    let (folder, mut book) = book();
    let drafts = [draft(0.0, 9.0), draft(20.0, 29.0)];
    book.store_drafts("t", &drafts).unwrap();
    book.confirm(1, &contact("KB0QSE")).unwrap();
    book.confirm(1, &contact("KB0QSF")).unwrap();
    book.undo(None).unwrap();
    let path = book.path().to_owned();
    (folder, path)
}

fn whole(path: &Path) -> (Vec<Entry>, Vec<LogbookAction>) {
    let book = Logbook::open(path).unwrap();
    (
        book.entries(&EntryFilter::All).unwrap(),
        book.actions(99).unwrap(),
    )
}

fn reasons(path: &Path) -> Vec<BackupReason> {
    let found = backups(path).unwrap();
    found.iter().map(|backup| backup.why).collect()
}

fn hidden(folder: &Path) -> usize {
    let names = fs::read_dir(folder).unwrap();
    let names = names.map(|entry| entry.unwrap().file_name());
    names
        .filter(|name| name.to_string_lossy().starts_with('.'))
        .count()
}

#[test]
fn the_first_change_of_a_day_is_preceded_by_a_backup() {
    let (_folder, mut book) = book();
    book.store_drafts("t", &[draft(0.0, 9.0)]).unwrap();
    let path = book.path().to_owned();
    // There was nothing to lose.
    assert_eq!(reasons(&path), []);
    drop(book);
    let before = whole(&path);
    for call in ["KB0QSE", "K1QRM"] {
        let mut book = Logbook::open(&path).unwrap();
        book.confirm(1, &contact(call)).unwrap();
        book.confirm(1, &contact("W7QTM")).unwrap();
        assert_eq!(reasons(&path), [BackupReason::Day]);
    }
    assert_eq!(whole(&backups(&path).unwrap()[0].path), before);
    let mut book = Logbook::open(&path).unwrap();
    let tomorrow = Utc::now() + chrono::TimeDelta::days(1);
    book.back_up_today(tomorrow);
    book.back_up_today(tomorrow);
    assert_eq!(reasons(&path), [BackupReason::Day, BackupReason::Day]);
}

#[test]
fn of_two_in_a_second_the_later_one_is_the_newest() {
    let (_folder, path) = filled();
    let book = Logbook::open(&path).unwrap();
    let now = Utc::now();
    let kinds = [
        BackupReason::Day,
        BackupReason::Asked,
        BackupReason::Asked,
        BackupReason::Upgrade,
    ];
    for why in kinds {
        crate::book::backup::store(&book.connection, &path, why, now).unwrap();
        std::thread::sleep(std::time::Duration::from_millis(20));
    }
    let mut found = reasons(&path);
    found.reverse();
    assert_eq!(found, kinds);
}

#[test]
fn a_backup_is_one_file_of_its_owner() {
    let (folder, path) = filled();
    let book = Logbook::open(&path).unwrap();
    let made = book.back_up(None).unwrap();
    let asked = folder.path().join("my copy.sqlite");
    assert_eq!(book.back_up(Some(&asked)).unwrap(), asked);
    for file in [&made, &asked] {
        // No log beside it is needed to read it (bytes 18 and 19 of the file format).
        assert_eq!(fs::read(file).unwrap()[18..20], [1, 1]);
        for word in ["-wal", "-shm", "-journal"] {
            assert!(!with_suffix(file, word).exists());
        }
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt as _;
            let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
            assert_eq!((mode(file), mode(&path)), (0o600, 0o600));
            assert_eq!(mode(&backup_folder(&path)), 0o700);
        }
        assert_eq!(whole(file), whole(&path));
    }
    // Never over another file.
    let error = book.back_up(Some(&asked)).unwrap_err().to_string();
    assert!(error.contains("my copy.sqlite"), "{error}");
    assert_eq!(hidden(folder.path()) + hidden(&backup_folder(&path)), 0);
}

/// What happens to a logbook's file.
type FileDamage = fn(&Path);

#[test]
fn a_damaged_logbook_comes_back_with_its_history() {
    let damages: [(&str, FileDamage); 4] = [
        ("overwritten", |path| {
            let mut bytes = fs::read(path).unwrap();
            bytes[4096..].fill(0x5a);
            fs::write(path, bytes).unwrap();
        }),
        ("emptied", |path| fs::write(path, "").unwrap()),
        ("a letter", |path| {
            fs::write(path, "dear friend, this is a letter").unwrap();
        }),
        ("gone", |path| fs::remove_file(path).unwrap()),
    ];
    for (name, damage) in damages {
        let (folder, path) = filled();
        let before = whole(&path);
        let made = Logbook::open(&path).unwrap().back_up(None).unwrap();
        damage(&path);
        let damaged = fs::read(&path).ok();
        let seen = Logbook::open(&path).and_then(|book| book.entries(&EntryFilter::All));
        let error = seen.unwrap_err();
        assert!(error.is_damage(), "{name}: {error}");
        let restored = restore(&path, &made).unwrap();
        assert_eq!(restored.entries, 2, "{name}");
        assert_eq!(whole(&path), before, "{name}");
        let kept = restored.kept.map(|kept| fs::read(kept).unwrap());
        assert_eq!(kept, damaged, "{name}");
        assert!(made.exists());
        assert_eq!(hidden(folder.path()) + hidden(&backup_folder(&path)), 0);
        // What was undone can be done again.
        Logbook::open(&path).unwrap().undo(Some(4)).unwrap();
    }
}

#[test]
fn a_whole_logbook_is_kept_when_a_backup_takes_its_place() {
    let (_folder, path) = filled();
    let mut book = Logbook::open(&path).unwrap();
    let made = book.back_up(None).unwrap();
    let old = whole(&path);
    book.confirm(2, &contact("K1QRM")).unwrap();
    let new = whole(&path);
    // Somebody has it open, and would go on writing into what is kept aside.
    let error = restore(&path, &made).unwrap_err();
    assert!(
        matches!(error, LogbookError::OpenElsewhere { .. }),
        "{error}"
    );
    assert_eq!(whole(&path), new);
    drop(book);
    let kept = restore(&path, &made).unwrap().kept.unwrap();
    assert_eq!((whole(&path), whole(&kept)), (old, new.clone()));
    restore(&path, &kept).unwrap();
    assert_eq!(whole(&path), new);
}

#[test]
fn a_log_beside_the_old_one_is_not_played_into_the_new() {
    let (folder, path) = filled();
    let made = Logbook::open(&path).unwrap().back_up(None).unwrap();
    let before = whole(&path);
    let mut book = Logbook::open(&path).unwrap();
    book.confirm(2, &contact("K1QRM")).unwrap();
    let log = with_suffix(&path, "-wal");
    let aside = folder.path().join("aside");
    fs::copy(&log, &aside).unwrap();
    drop(book);
    fs::write(&path, "damaged, and long enough to be looked at").unwrap();
    fs::rename(&aside, &log).unwrap();
    let kept = restore(&path, &made).unwrap().kept.unwrap();
    assert_eq!(whole(&path), before);
    assert!(fs::metadata(with_suffix(&kept, "-wal")).unwrap().len() > 0);
}

#[test]
fn only_a_whole_logbook_is_restored() {
    let (folder, path) = filled();
    let before = whole(&path);
    let made = Logbook::open(&path).unwrap().back_up(None).unwrap();
    let at = |name: &str| folder.path().join(name);
    fs::write(at("empty"), "").unwrap();
    fs::write(at("letter"), "dear friend, this is a letter").unwrap();
    let foreign = Connection::open(at("foreign")).unwrap();
    foreign
        .execute_batch("CREATE TABLE notes (text); PRAGMA user_version = 2;")
        .unwrap();
    drop(foreign);
    let bytes = fs::read(&made).unwrap();
    fs::write(at("cut"), &bytes[..bytes.len() - 5000]).unwrap();
    let newer = at("newer");
    fs::copy(&made, &newer).unwrap();
    let connection = Connection::open(&newer).unwrap();
    connection.pragma_update(None, "user_version", 99).unwrap();
    drop(connection);
    for (name, says) in [
        ("empty", "has 0 bytes"),
        ("letter", "not a logbook"),
        ("foreign", "another program"),
        ("cut", "cut"),
        ("newer", "newer jumpseat"),
        ("missing", "missing"),
    ] {
        let error = restore(&path, &at(name)).unwrap_err().to_string();
        assert!(error.contains(says), "{name}: {error}");
        assert_eq!(whole(&path), before, "{name}");
    }
    assert_eq!(reasons(&path), [BackupReason::Asked]);
    assert_eq!(hidden(path.parent().unwrap()), 0);
}

#[test]
fn a_backup_is_of_one_instant_while_others_write() {
    let (_folder, path) = filled();
    let mut book = Logbook::open(&path).unwrap();
    std::thread::scope(|scope| {
        let writer = scope.spawn(|| {
            for number in 0..60 {
                let drafts = [draft(0.0, 9.0), draft(20.0, 29.0)];
                book.store_drafts(&format!("u{number}"), &drafts).unwrap();
            }
        });
        let mut seen = Vec::new();
        while !writer.is_finished() || seen.is_empty() {
            let made = Logbook::open(&path).unwrap().back_up(None).unwrap();
            let copy = Logbook::open(&made).unwrap();
            let entries = copy.count_found(&EntrySearch::default()).unwrap();
            // Each action wrote two.
            assert_eq!(entries % 2, 0);
            seen.push(entries);
        }
        assert!(seen.is_sorted(), "{seen:?}");
    });
}

#[test]
fn an_older_form_is_backed_up_before_it_is_changed() {
    let (_folder, path) = filled();
    let book = Connection::open(&path).unwrap();
    book.execute_batch("DROP TABLE reviews; PRAGMA user_version = 2;")
        .unwrap();
    drop(book);
    let book = Logbook::open(&path).unwrap();
    assert_eq!(book.count_found(&EntrySearch::default()).unwrap(), 2);
    assert_eq!(reasons(&path), [BackupReason::Upgrade]);
    let old = Connection::open(&backups(&path).unwrap()[0].path).unwrap();
    let form: u32 = old
        .query_row("PRAGMA user_version", [], |row| row.get(0))
        .unwrap();
    assert_eq!(form, 2);
}

#[test]
fn a_backup_that_fails_is_told_and_nothing_waits_for_it() {
    static TOLD: AtomicUsize = AtomicUsize::new(0);
    let (_folder, path) = filled();
    let folder = backup_folder(&path);
    fs::write(&folder, "a file in the folder's place").unwrap();
    let tell: WarningHandler = |error| {
        assert!(matches!(error, LogbookError::NoBackup { .. }));
        assert!(error.to_string().contains("log-backups"), "{error}");
        TOLD.fetch_add(1, Ordering::Relaxed);
    };
    let mut book = Logbook::open_with_warnings(&path, tell).unwrap();
    book.confirm(2, &contact("K1QRM")).unwrap();
    book.confirm(2, &contact("W7QTM")).unwrap();
    assert_eq!(TOLD.load(Ordering::Relaxed), 1);
    assert_eq!(book.entry(2).unwrap().contact, Some(contact("W7QTM")));
}

#[cfg(unix)]
#[test]
fn a_logbook_behind_a_link_is_restored_there() {
    let (folder, path) = filled();
    let place = folder.path().join("elsewhere.sqlite");
    fs::rename(&path, &place).unwrap();
    std::os::unix::fs::symlink(&place, &path).unwrap();
    let before = whole(&path);
    let made = Logbook::open(&path).unwrap().back_up(None).unwrap();
    fs::write(&place, "damaged").unwrap();
    restore(&path, &made).unwrap();
    assert_eq!(whole(&path), before);
    assert!(path.is_symlink() && !place.is_symlink());
}
