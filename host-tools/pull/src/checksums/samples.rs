//! The checksums that the board wrote into its journal: of the samples of each sound
//! file, without the header.

use std::collections::BTreeMap;
use std::io::{self, BufReader, Read as _};
use std::path::Path;

use jumpseat_files::open_regular_file;
use jumpseat_trip::{JournalEvent, JournalRecord, SoundBlocks, TripError};
use jumpseat_values::display::hex;
use sha2::{Digest as _, Sha256};

/// The samples of one sound file as the board recorded them when it closed the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RecordedSamples {
    /// How many samples.
    pub(crate) count: u64,
    /// SHA-256 of their bytes, in hex.
    pub(crate) sha256: String,
}

impl RecordedSamples {
    /// What the journal says about the samples of each segment, by its number.
    #[must_use]
    pub fn by_segment(records: &[JournalRecord]) -> BTreeMap<u32, Self> {
        let mut counts = BTreeMap::new();
        let mut recorded = BTreeMap::new();
        for record in records {
            match &record.event {
                JournalEvent::SegmentClosed { segment, count, .. } => {
                    counts.insert(*segment, *count);
                }
                JournalEvent::SegmentSum { segment, sha256 } => {
                    if let Some(count) = counts.remove(segment) {
                        let sha256 = sha256.as_str().to_owned();
                        recorded.insert(*segment, Self { count, sha256 });
                    }
                }
                _ => {}
            }
        }
        recorded
    }

    /// Whether a WAV file holds these samples; false for a file that is no WAV file.
    pub(crate) fn match_wav(&self, path: &Path) -> io::Result<bool> {
        let file = open_regular_file(path)?;
        let Ok(wav) = hound::WavReader::new(BufReader::new(file)) else {
            return Ok(false);
        };
        let bytes_each = u64::from(wav.spec().bits_per_sample / 8);
        // What follows the header are the samples.
        let mut left = wav.into_inner().take(self.count.saturating_mul(bytes_each));
        let mut digest = Sha256::new();
        let mut buffer = vec![0; 1 << 18];
        loop {
            match left.read(&mut buffer)? {
                0 => break,
                count => digest.update(&buffer[..count]),
            }
        }
        Ok(left.limit() == 0 && hex(&digest.finalize()) == self.sha256)
    }

    /// Whether a sound file, WAV or FLAC, holds these samples; `read` receives the bytes
    /// of each block of samples.
    ///
    /// # Errors
    /// When the file cannot be read or decoded.
    pub fn match_sound(&self, path: &Path, read: &mut dyn FnMut(u64)) -> Result<bool, TripError> {
        let mut digest = Sha256::new();
        for block in SoundBlocks::open(path, self.count)? {
            let samples = block?;
            for sample in &samples {
                digest.update(sample.to_le_bytes());
            }
            read(samples.len() as u64 * 2);
        }
        Ok(hex(&digest.finalize()) == self.sha256)
    }
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    #[test]
    fn a_file_is_held_to_the_recorded_checksum_of_its_samples() {
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
            let recorded = RecordedSamples {
                count,
                sha256: sha256.into(),
            };
            let found = recorded.match_wav(&path).unwrap();
            assert_eq!(found, expected, "{count} {sha256}");
        };
        check(2, abcd, true);
        check(1, abcd, false);
        check(3, abcd, false);
        check(2, &abcd.replace('8', "9"), false);
        fs::write(&path, "no sound").unwrap();
        check(2, abcd, false);
    }
}
