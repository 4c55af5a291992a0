//! A card without end: a pull reports it or fails, and always ends.
#![cfg(test)]

use std::io;
use std::time::Duration;

use jumpseat_pull::{
    FetchCallback, FileRange, PullError, PullEvent, PullListener, PullReport, PullRequest,
    SourceEntry, SourceEntryKind, TripSource, pull_from,
};

/// A card whose trips contain as many files as wanted, none of which can be read.
struct EndlessCard {
    /// Files in each folder.
    files: usize,
    /// Each folder contains another one.
    deeper: bool,
    /// Length of each file.
    bytes: u64,
    trips: usize,
}

const CARD: EndlessCard = EndlessCard {
    files: 3,
    deeper: false,
    bytes: 1,
    trips: 1,
};

fn entry(name: String, kind: SourceEntryKind, bytes: u64) -> SourceEntry {
    SourceEntry {
        name: Some(name),
        kind,
        bytes,
        modified: None,
    }
}

impl TripSource for EndlessCard {
    fn display_path(&self, path: &str) -> String {
        format!("card/{path}")
    }

    fn own_name(&mut self) -> Result<Option<(String, SourceEntryKind)>, PullError> {
        Ok(Some(("card".into(), SourceEntryKind::Folder)))
    }

    fn list(&mut self, folder: &str) -> Result<Vec<SourceEntry>, PullError> {
        if folder.is_empty() {
            let names = (0..self.trips).map(|trip| format!("trip-{trip:06}-3fa2c1"));
            return Ok(names
                .map(|name| entry(name, SourceEntryKind::Folder, 0))
                .collect());
        }
        let mut entries: Vec<SourceEntry> = (0..self.files)
            .map(|file| entry(format!("{file}"), SourceEntryKind::File, self.bytes))
            .collect();
        if self.deeper {
            entries.push(entry("deeper".into(), SourceEntryKind::Folder, 0));
        }
        Ok(entries)
    }

    fn metadata(&mut self, _path: &str) -> Result<Option<SourceEntry>, PullError> {
        Ok(None)
    }

    fn fetch(
        &mut self,
        _ranges: &[FileRange],
        _callback: FetchCallback<'_>,
    ) -> Result<(), PullError> {
        Ok(())
    }

    fn write(&mut self, _path: &str, _bytes: &[u8]) -> Result<(), PullError> {
        Ok(())
    }

    fn hold_lease(&mut self, _path: &str) -> Result<(), PullError> {
        Ok(())
    }
}

struct NoListener;

impl PullListener for NoListener {
    fn advance(&self, _bytes: u64) {}

    fn event(&self, _event: &PullEvent<'_>) -> io::Result<()> {
        Ok(())
    }
}

/// Pulls the card; its doubts or the error must contain the text.
#[track_caller]
fn check(mut card: EndlessCard, expected: &str) {
    let folder = tempfile::tempdir().unwrap();
    let request = PullRequest {
        source: "card",
        library: &folder.path().join("trips"),
        verify: false,
        ssh_config: None,
        at_most: u64::MAX,
        patience: Duration::from_secs(1),
    };
    let mut reports: Vec<PullReport> = Vec::new();
    let said = match pull_from(&mut card, &request, &NoListener, &mut reports) {
        Ok(()) => {
            let missing = reports.iter().flat_map(|report| &report.missing);
            let missing = missing.map(|file| format!("{}: {}", file.file, file.error));
            let doubts = reports.iter().flat_map(|report| report.doubts.clone());
            doubts.chain(missing).collect::<Vec<_>>().join("\n")
        }
        Err(error) => error.message(),
    };
    assert!(said.contains(expected), "{said}");
}

#[test]
fn files_of_which_nothing_comes_are_missing() {
    check(CARD, "0: the source sent nothing of it");
}

#[test]
fn a_trip_with_too_many_files_is_not_copied() {
    let files = 100_001;
    check(EndlessCard { files, ..CARD }, "more than 100000 files");
}

#[test]
fn folders_in_folders_are_followed_to_a_limit() {
    let deeper = true;
    check(EndlessCard { deeper, ..CARD }, "is nested too deeply");
}

#[test]
fn a_card_with_too_many_files_is_refused() {
    let (files, trips) = (90_000, 12);
    let card = EndlessCard {
        files,
        trips,
        ..CARD
    };
    check(card, "more than 1000000 files");
}

#[test]
fn a_journal_that_is_too_long_is_left_out() {
    let bytes = (128 << 20) + 1;
    check(EndlessCard { bytes, ..CARD }, "longer than any journal");
}
