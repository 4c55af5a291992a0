//! What the board wrote into its journal about its own sound files: the manifest
//! that a copy is held to.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{BufReader, Read as _};
use std::path::Path;

use anyhow::{Context as _, Result};
use jumpseat_trip::{JournalEvent, open_regular_file, parse_journal};
use jumpseat_values::display::hex;
use sha2::{Digest as _, Sha256};

use super::copy::cannot;
use super::find::MAX_TEXT_FILE_BYTES;

/// The samples of one file as they were recorded.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct RecordedSamples {
    /// How many.
    count: u64,
    /// SHA-256 of their bytes, in hex.
    sha256: String,
}

/// What the journals of a trip say.
#[derive(Debug, Default)]
pub(super) struct JournalManifest {
    files: BTreeMap<String, RecordedSamples>,
    /// Files that were opened, and neither closed nor given up.
    open: BTreeSet<String>,
    ended: bool,
}

impl JournalManifest {
    /// Reads journals, in the order in which they were written.
    pub(super) fn read(journals: &[&Path]) -> Result<Self> {
        let mut manifest = Self::default();
        let mut counts = BTreeMap::new();
        for path in journals {
            let mut text = Vec::new();
            open_regular_file(path)
                .and_then(|file| file.take(MAX_TEXT_FILE_BYTES).read_to_end(&mut text))
                .with_context(|| cannot("read", path))?;
            for record in parse_journal(path, &text, None).records {
                manifest.take(record.event, &mut counts);
            }
        }
        Ok(manifest)
    }

    fn take(&mut self, event: JournalEvent, counts: &mut BTreeMap<u32, (String, u64)>) {
        match event {
            JournalEvent::SegmentOpened {
                segment, direction, ..
            } => {
                self.open.insert(name(segment, direction.name()));
            }
            JournalEvent::SegmentClosed {
                segment,
                direction,
                count,
                ..
            } => {
                let name = name(segment, direction.name());
                self.open.remove(&name);
                counts.insert(segment, (name, count));
            }
            JournalEvent::SegmentAbandoned {
                segment, direction, ..
            } => {
                self.open.remove(&name(segment, direction.name()));
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

    /// What is noted of a file of the trip.
    pub(super) fn recorded(&self, name: &str) -> Option<&RecordedSamples> {
        self.files.get(name)
    }

    /// Whether the file was still being written when the journal was.
    pub(super) fn is_open(&self, name: &str) -> bool {
        self.open.contains(name)
    }

    /// Whether the recorder may still be at it.
    pub(super) fn may_go_on(&self) -> bool {
        !self.ended && !self.open.is_empty()
    }
}

/// As the board names them (format version 1).
fn name(segment: u32, direction: &str) -> String {
    format!("audio/{segment:06}-{direction}.wav")
}

impl RecordedSamples {
    /// Whether a WAV file holds these samples.
    pub(super) fn is_of(&self, path: &Path) -> Result<bool> {
        let file = open_regular_file(path).with_context(|| cannot("read", path))?;
        let Ok(wav) = hound::WavReader::new(BufReader::new(file)) else {
            return Ok(false);
        };
        let bytes_each = u64::from(wav.spec().bits_per_sample / 8);
        // What is left are the samples.
        let mut left = wav.into_inner().take(self.count.saturating_mul(bytes_each));
        let mut digest = Sha256::new();
        let mut buffer = vec![0; 1 << 18];
        loop {
            match left
                .read(&mut buffer)
                .with_context(|| cannot("read", path))?
            {
                0 => break,
                count => digest.update(&buffer[..count]),
            }
        }
        Ok(left.limit() == 0 && hex(&digest.finalize()) == self.sha256)
    }
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    #[test]
    fn a_file_is_held_to_what_was_noted_of_its_samples() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("x.wav");
        let spec = hound::WavSpec {
            channels: 1,
            sample_rate: 16_000,
            bits_per_sample: 16,
            sample_format: hound::SampleFormat::Int,
        };
        let mut wav = hound::WavWriter::create(&path, spec).unwrap();
        wav.write_sample(25_185_i16).unwrap();
        wav.write_sample(25_699_i16).unwrap();
        wav.finalize().unwrap();
        // SHA-256 of "abcd", as sha256sum (GNU coreutils) prints it.
        let abcd = "88d4266fd4e6338d13b845fcf289579d209c897823b9217da3e161936f031589";
        let check = |count, sha256: &str, expected| {
            let noted = RecordedSamples {
                count,
                sha256: sha256.into(),
            };
            assert_eq!(noted.is_of(&path).unwrap(), expected, "{count} {sha256}");
        };
        check(2, abcd, true);
        check(1, abcd, false);
        check(3, abcd, false);
        check(2, &abcd.replace('8', "9"), false);
        fs::write(&path, "no sound").unwrap();
        check(2, abcd, false);
    }
}
