//! What the journals of a trip say about its sound files. Every copy is compared with it.

use std::collections::{BTreeMap, BTreeSet};
use std::io::Read as _;
use std::path::Path;

use jumpseat_files::open_regular_file;
use jumpseat_trip::{JournalEvent, parse_journal};

use crate::checksums::RecordedSamples;
use crate::error::PullError;
use crate::source_trip::MAX_TEXT_FILE_BYTES;

/// What the journals of a trip say.
#[derive(Debug, Default)]
pub(super) struct JournalManifest {
    files: BTreeMap<String, RecordedSamples>,
    /// Files that the board opened, and neither closed nor abandoned.
    open: BTreeSet<String>,
    ended: bool,
}

impl JournalManifest {
    /// Reads the journals, in the order in which they were written.
    pub(super) fn read(journals: &[&Path]) -> Result<Self, PullError> {
        let mut manifest = Self::default();
        let mut counts = BTreeMap::new();
        for path in journals {
            let mut text = Vec::new();
            open_regular_file(path)
                .and_then(|file| file.take(MAX_TEXT_FILE_BYTES).read_to_end(&mut text))
                .map_err(PullError::library("read", path))?;
            for record in parse_journal(path, &text, None).records {
                manifest.add(record.event, &mut counts);
            }
        }
        Ok(manifest)
    }

    fn add(&mut self, event: JournalEvent, counts: &mut BTreeMap<u32, (String, u64)>) {
        match event {
            JournalEvent::SegmentOpened {
                segment, direction, ..
            } => {
                self.open.insert(sound_path(segment, direction.name()));
            }
            JournalEvent::SegmentClosed {
                segment,
                direction,
                count,
                ..
            } => {
                let name = sound_path(segment, direction.name());
                self.open.remove(&name);
                counts.insert(segment, (name, count));
            }
            JournalEvent::SegmentAbandoned {
                segment, direction, ..
            } => {
                self.open.remove(&sound_path(segment, direction.name()));
            }
            JournalEvent::SegmentSum { segment, sha256 } => {
                if let Some((name, count)) = counts.remove(&segment) {
                    let sha256 = sha256.as_str().to_owned();
                    self.files.insert(name, RecordedSamples { count, sha256 });
                }
            }
            JournalEvent::Shutdown { .. } => self.ended = true,
            _ => {}
        }
    }

    /// What the board recorded about a file of the trip.
    pub(super) fn recorded(&self, name: &str) -> Option<&RecordedSamples> {
        self.files.get(name)
    }

    /// Whether the file was still open when the journal was written.
    pub(super) fn is_open(&self, name: &str) -> bool {
        self.open.contains(name)
    }

    /// Whether the trip may still be recorded.
    pub(super) fn may_continue(&self) -> bool {
        !self.ended && !self.open.is_empty()
    }
}

/// A sound file's path as the board names it (format version 1).
fn sound_path(segment: u32, direction: &str) -> String {
    format!("audio/{segment:06}-{direction}.wav")
}
