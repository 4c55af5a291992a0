//! Reads the card's image as the board would find it: e2fsck replays its journal, debugfs
//! extracts its files (Debian package e2fsprogs).

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use jumpseat_trip::{DamageSeverity, Trip, TripDamage};

/// Repairs the file system, and copies the trips into `to`; the newest is last.
pub(crate) fn trips(image: &Path, to: &Path) -> Vec<PathBuf> {
    let mended = Command::new("/sbin/e2fsck")
        .arg("-p")
        .arg(image)
        .output()
        .expect("e2fsck is missing: apt-get install e2fsprogs");
    // 1: errors were corrected; anything above is worse (e2fsck(8)).
    assert!(
        mended.status.code().is_some_and(|code| code <= 1),
        "{}",
        String::from_utf8_lossy(&mended.stdout)
    );
    let copied = Command::new("/sbin/debugfs")
        .arg("-R")
        .arg(format!("rdump / {}", to.display()))
        .arg(image)
        .output()
        .expect("debugfs is missing: apt-get install e2fsprogs");
    assert!(copied.status.success());
    let mut trips: Vec<PathBuf> = fs::read_dir(to)
        .expect("the copy is there")
        .map(|entry| entry.expect("the copy can be listed").path())
        .filter(|path| {
            path.file_name()
                .is_some_and(|name| name.to_string_lossy().starts_with("trip-0"))
        })
        .collect();
    trips.sort();
    trips
}

/// Damage that a power cut does not explain. A power cut may tear the last line and leave
/// the last file open, or empty before its first sync, even one that no record names yet,
/// and nothing else.
pub(crate) fn damage(trip: &Trip) -> Vec<String> {
    let last = trip.segments().last().map(|segment| &segment.path);
    let cut = |damage: &&TripDamage| match damage {
        TripDamage::TornLine { .. } => true,
        TripDamage::SegmentNotClosed { path, .. }
        | TripDamage::SegmentUnreadable { path, .. }
        | TripDamage::SegmentUnrecorded { path, .. } => last.is_none_or(|last| path >= last),
        _ => false,
    };
    let serious = |damage: &&TripDamage| damage.severity() == DamageSeverity::Loss;
    trip.damage()
        .iter()
        .filter(serious)
        .filter(|damage| !cut(damage))
        .map(ToString::to_string)
        .collect()
}
