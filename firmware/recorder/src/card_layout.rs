//! The names on a card: trip folders, folders that are being removed, receipts, and the lease
//! of a pull.

use std::path::{Path, PathBuf};

/// The folder of the receipts.
pub const RECEIPTS_FOLDER: &str = "receipts";
/// Prefix of a trip folder while it is being removed, so that no part of it is ever taken
/// for a trip.
pub(crate) const REMOVAL_PREFIX: &str = ".going-";
/// Longest receipt: 30,000 files at 130 bytes each, several days of short overs. The pull
/// account cannot write a longer file (`limits.conf` of the package).
pub const MAX_RECEIPT_BYTES: u64 = 4 << 20;
/// File in the card's folder that a running pull touches at least once a minute.
pub const PULL_LEASE_FILE: &str = "pull-lease";
/// Most names read from a folder; a card holds some thousands.
pub(crate) const MAX_CARD_NAMES: usize = 100_000;

/// Name of a trip's folder.
pub(crate) fn trip_name(trip: u32, board: &str) -> String {
    format!("trip-{trip:06}-{board}")
}

/// The number in a trip folder's name, if it is one.
pub(crate) fn trip_number(name: &str) -> Option<u32> {
    let (number, _board) = name.strip_prefix("trip-")?.split_once('-')?;
    let digits = number.bytes().all(|digit| digit.is_ascii_digit());
    number.parse().ok().filter(|_| digits)
}

/// Path of a trip's folder while it is being removed.
pub(crate) fn removal_path(card: &Path, trip: &str) -> PathBuf {
    card.join(format!("{REMOVAL_PREFIX}{trip}"))
}

/// Path of a trip's receipt.
pub(crate) fn receipt_path(card: &Path, trip: &str) -> PathBuf {
    card.join(RECEIPTS_FOLDER).join(format!("{trip}.json"))
}

/// The trip of a receipt's file name. The home computer writes a receipt as `.TRIP.json.part`
/// first, and renames it.
pub(crate) fn trip_of_receipt(name: &str) -> Option<&str> {
    let unfinished = name
        .strip_prefix('.')
        .and_then(|name| name.strip_suffix(".part"));
    unfinished.unwrap_or(name).strip_suffix(".json")
}
