use std::os::unix::fs::symlink;
use std::path::PathBuf;
use std::process::Command;

use super::*;
use crate::storage::read_text;

/// A folder with a file `text`, a folder `full` with a file in it, links to them, to itself
/// and to endless zeros, and a pipe.
fn everything() -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    let at = |name: &str| dir.path().join(name);
    fs::write(at("text"), "seventeen").unwrap();
    fs::create_dir(at("full")).unwrap();
    fs::write(at("full/file"), "kept").unwrap();
    symlink("text", at("to-text")).unwrap();
    symlink("full", at("to-full")).unwrap();
    symlink("to-itself", at("to-itself")).unwrap();
    symlink("/dev/zero", at("to-zeros")).unwrap();
    let made = Command::new("mkfifo").arg(at("pipe")).status().unwrap();
    assert!(made.success());
    dir
}

#[track_caller]
fn check(name: &str, kind: StoredKind, text: Option<&str>) {
    let dir = everything();
    let path = dir.path().join(name);
    let mut disk = DiskStorage::new(SyncDurability::Synced);
    assert_eq!(disk.kind(&path).unwrap(), kind, "{name}");
    assert_eq!(
        read_text(&mut disk, &path, 9).ok().as_deref(),
        text,
        "{name}"
    );
    assert!(read_text(&mut disk, &path, 8).is_err(), "{name}");
}

#[test]
fn only_ordinary_files_are_read_and_only_up_to_a_limit() {
    check("text", StoredKind::File { bytes: 9 }, Some("seventeen"));
    check("full", StoredKind::Folder, None);
    for other in ["to-text", "to-full", "to-itself", "to-zeros", "pipe"] {
        check(other, StoredKind::Other, None);
    }
}

#[test]
fn what_goes_goes_by_its_own_name_and_not_where_it_leads() {
    for name in [
        "to-text",
        "to-full",
        "to-itself",
        "to-zeros",
        "pipe",
        "text",
        "full",
    ] {
        let outside = everything();
        let card = tempfile::tempdir().unwrap();
        let trip = card.path().join("trip");
        fs::create_dir(&trip).unwrap();
        let led: PathBuf = outside.path().join(name);
        symlink(&led, trip.join("link")).unwrap();
        symlink(&trip, card.path().join("to-trip")).unwrap();
        let mut disk = DiskStorage::new(SyncDurability::Synced);
        disk.remove_tree(&card.path().join("to-trip")).unwrap();
        assert!(trip.join("link").is_symlink());
        disk.remove_tree(&trip).unwrap();
        assert!(!trip.exists());
        assert!(fs::symlink_metadata(&led).is_ok(), "{name}");
        assert!(outside.path().join("full/file").exists());
        disk.remove_tree(&led).unwrap();
        assert!(fs::symlink_metadata(&led).is_err(), "{name}");
        assert_eq!(outside.path().join("full/file").exists(), name != "full");
        assert_eq!(outside.path().join("text").exists(), name != "text");
    }
}

#[test]
fn no_more_names_are_given_than_asked_for() {
    let dir = everything();
    let mut disk = DiskStorage::new(SyncDurability::Synced);
    assert_eq!(disk.names(dir.path(), 3).unwrap().len(), 3);
    assert_eq!(disk.names(dir.path(), 100).unwrap().len(), 7);
}
