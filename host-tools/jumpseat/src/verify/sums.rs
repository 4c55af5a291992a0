//! Checksums of files, and of the samples in them.

use std::collections::BTreeMap;
use std::io::{self, Read as _};
use std::path::{Component, Path};

use jumpseat_trip::{
    FlacFile, JournalEvent, JournalRecord, SoundBlocks, is_flac, open_regular_file,
};
use jumpseat_values::display::hex;
use sha2::{Digest as _, Sha256};

use super::BytesReadListener;

/// The samples of one file as the board wrote them down when it closed it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct NotedSamples {
    count: u64,
    sha256: String,
}

/// Whether a sound file is what was recorded; with the bytes of its samples.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum SamplesProof {
    Same(u64),
    Differs(u64),
    /// Nobody knows.
    None,
}

/// What the journal says of the samples of each file, by its number.
pub(super) fn noted(records: &[JournalRecord]) -> BTreeMap<u32, NotedSamples> {
    let mut counts = BTreeMap::new();
    let mut noted = BTreeMap::new();
    for record in records {
        match &record.event {
            JournalEvent::SegmentClosed { segment, count, .. } => {
                counts.insert(*segment, *count);
            }
            JournalEvent::SegmentSum { segment, sha256 } => {
                if let Some(count) = counts.remove(segment) {
                    let sha256 = sha256.as_str().to_owned();
                    noted.insert(*segment, NotedSamples { count, sha256 });
                }
            }
            _ => {}
        }
    }
    noted
}

/// A name in a list of checksums that stays within its folder.
pub(super) fn safe(name: &str) -> bool {
    let plain = |part: Component<'_>| matches!(part, Component::Normal(_));
    !name.is_empty() && !name.contains('\\') && Path::new(name).components().all(plain)
}

/// The checksum of a file, and its length; None where it is not there. `Err` says in
/// plain words why it cannot be read.
pub(super) fn file_sum(
    path: &Path,
    tell: BytesReadListener<'_>,
) -> Result<Option<(String, u64)>, String> {
    let mut file = match open_regular_file(path) {
        Ok(file) => file,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(error.to_string()),
    };
    let mut digest = Sha256::new();
    let mut buffer = vec![0; 1 << 18];
    let mut bytes = 0;
    loop {
        match file.read(&mut buffer) {
            Ok(0) => return Ok(Some((hex(&digest.finalize()), bytes))),
            Ok(count) => {
                digest.update(&buffer[..count]);
                bytes += count as u64;
                tell(count as u64);
            }
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(error.to_string()),
        }
    }
}

/// Holds the samples of a file to what was noted of them, and a FLAC file of which
/// nothing was noted to its own checksum. `Err` says in plain words why it cannot be
/// read.
pub(super) fn samples_sum(
    path: &Path,
    noted: Option<&NotedSamples>,
    tell: BytesReadListener<'_>,
) -> Result<SamplesProof, String> {
    let words = |error: jumpseat_trip::TripError| error.to_string();
    let mut bytes = 0;
    let mut take = |samples: &[i16], digest: &mut Sha256| {
        for sample in samples {
            digest.update(sample.to_le_bytes());
        }
        let more = samples.len() as u64 * 2;
        bytes += more;
        tell(more);
    };
    let mut digest = Sha256::new();
    let Some(noted) = noted else {
        if !is_flac(path) {
            return Ok(SamplesProof::None);
        }
        for block in FlacFile::open(path).map_err(words)? {
            take(&block.map_err(words)?, &mut digest);
        }
        return Ok(SamplesProof::Same(bytes));
    };
    for block in SoundBlocks::open(path, noted.count).map_err(words)? {
        take(&block.map_err(words)?, &mut digest);
    }
    Ok(if hex(&digest.finalize()) == noted.sha256 {
        SamplesProof::Same(bytes)
    } else {
        SamplesProof::Differs(bytes)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_of_checksums_leads_nowhere_else() {
        for good in ["trip.json", "audio/000001-rx.wav", "..odd"] {
            assert!(safe(good), "{good}");
        }
        for bad in ["", "/etc/passwd", "../x", "audio/../../x", "a\\..\\b", "."] {
            assert!(!safe(bad), "{bad}");
        }
    }
}
