//! What is in the logbook's place, and where it lies.

use std::fs;
use std::path::PathBuf;

use super::*;
use crate::backup_files::{BackupReason, backup_folder};
use crate::book::backup::store;
use jumpseat_files::with_suffix;

/// Makes something, and opens it as a logbook: refused in these words, and left alone.
#[track_caller]
fn check(made: impl FnOnce(&Path), says: &str) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.sqlite");
    made(&path);
    let before = fs::read(&path).ok();
    for opened in [Logbook::open(&path), Logbook::open_read_only(&path, |_| ())] {
        let error = opened.unwrap_err();
        let said = error.to_string();
        assert!(said.contains(says) && said.contains("log.sqlite"), "{said}");
    }
    assert_eq!(fs::read(&path).ok(), before);
}

fn database_with(path: &Path, batch: &str) {
    let connection = Connection::open(path).unwrap();
    connection.execute_batch(batch).unwrap();
}

/// A backup without a logbook.
fn back_up_only(path: &Path) {
    let mut book = Logbook::open(path).unwrap();
    book.store_drafts("t", &[draft(0.0, 9.0)]).unwrap();
    store(&book.connection, path, BackupReason::Day, Utc::now()).unwrap();
    drop(book);
    fs::remove_file(path).unwrap();
}

#[test]
fn what_is_no_logbook_is_never_taken_for_an_empty_one() {
    check(|path| fs::write(path, "").unwrap(), "has 0 bytes");
    check(
        |path| fs::write(path, "dear").unwrap(),
        "It is not a logbook",
    );
    check(
        |path| fs::write(path, "a letter, long enough to be looked at").unwrap(),
        "It is not a logbook",
    );
    check(|path| fs::create_dir(path).unwrap(), "is not a file");
    check(
        |path| database_with(path, "CREATE TABLE notes (text)"),
        "a database of another program",
    );
    check(
        |path| database_with(path, "CREATE TABLE entries (x); PRAGMA user_version = 2"),
        "a database of another program",
    );
    check(
        |path| {
            drop(Logbook::open(path).unwrap());
            database_with(path, "PRAGMA user_version = 9");
        },
        "Use a newer jumpseat",
    );
}

#[test]
fn where_there_was_a_logbook_no_new_one_is_made() {
    let newest = "The newest backup is ";
    check(back_up_only, "is gone: there was a logbook");
    check(back_up_only, newest);
    check(
        |path| {
            back_up_only(path);
            fs::write(path, "").unwrap();
        },
        newest,
    );
    check(
        |path| {
            back_up_only(path);
            database_with(path, "CREATE TABLE a (b); DROP TABLE a");
        },
        "is an empty database",
    );
    check(
        |path| fs::write(with_suffix(path, "-wal"), "changes").unwrap(),
        "is gone",
    );
    #[cfg(unix)]
    check(
        |path| std::os::unix::fs::symlink("nowhere", path).unwrap(),
        "is gone",
    );
}

#[test]
fn a_new_home_has_a_new_logbook() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a/b/log.sqlite");
    std::thread::scope(|scope| {
        for name in ["t", "u", "v"] {
            let path = &path;
            scope.spawn(move || {
                let mut book = Logbook::open(path).unwrap();
                book.store_drafts(name, &[draft(0.0, 9.0)]).unwrap();
            });
        }
    });
    let book = Logbook::open(&path).unwrap();
    assert_eq!(book.count_found(&EntrySearch::default()).unwrap(), 3);
    drop(book);
    let names = fs::read_dir(path.parent().unwrap()).unwrap();
    let names: Vec<_> = names.map(|entry| entry.unwrap().file_name()).collect();
    assert!(
        names
            .iter()
            .all(|name| !name.to_string_lossy().starts_with('.')),
        "{names:?}"
    );
    // An earlier version may have died before it made the tables.
    let path = folder.path().join("log.sqlite");
    database_with(&path, "CREATE TABLE a (b); DROP TABLE a");
    assert_eq!(
        numbers(&Logbook::open(&path).unwrap(), &EntryFilter::All),
        NONE
    );
}

/// Places where logbooks lie.
fn places() -> Vec<PathBuf> {
    #[cfg(unix)]
    {
        use std::os::unix::ffi::OsStringExt as _;
        let odd = std::ffi::OsString::from_vec(b"my log \xff?a=b#c%20".to_vec());
        vec![PathBuf::from("plain"), PathBuf::from(odd)]
    }
    #[cfg(not(unix))]
    vec![PathBuf::from("plain"), PathBuf::from("my log #c%20")]
}

#[test]
fn a_logbook_may_lie_anywhere() {
    for place in places() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(&place).join("log.sqlite");
        let mut book = Logbook::open(&path).unwrap();
        book.store_drafts("t", &[draft(0.0, 9.0)]).unwrap();
        let made = book.back_up(None).unwrap();
        assert!(made.starts_with(backup_folder(&path)));
        drop(book);
        for uri in [
            crate::book::open::immutable(&path),
            crate::book::open::immutable(&made),
        ] {
            let flags =
                rusqlite::OpenFlags::SQLITE_OPEN_READ_ONLY | rusqlite::OpenFlags::SQLITE_OPEN_URI;
            let connection = Connection::open_with_flags(uri, flags).unwrap();
            let count: i64 = connection
                .query_row("SELECT count(*) FROM entries", [], |row| row.get(0))
                .unwrap();
            assert_eq!(count, 1);
        }
        let looked = crate::book::open::look(&path, |_| ()).unwrap();
        assert_eq!(numbers(&looked, &EntryFilter::All), [1]);
        drop(looked);
        crate::book::backup::restore(&path, &made).unwrap();
    }
}

#[test]
fn an_older_form_is_looked_at_without_a_change() {
    let (_folder, mut book) = book();
    book.store_drafts("t", &[draft(0.0, 9.0)]).unwrap();
    let path = book.path().to_owned();
    drop(book);
    database_with(
        &path,
        "DROP TABLE reviews; PRAGMA user_version = 2; PRAGMA journal_mode = DELETE",
    );
    let before = fs::read(&path).unwrap();
    let looked = crate::book::open::look(&path, |_| ()).unwrap();
    assert_eq!(numbers(&looked, &EntryFilter::All), [1]);
    drop(looked);
    assert_eq!(fs::read(&path).unwrap(), before);
}
