//! Compares sound files with the checksums that the board recorded.

use std::path::Path;

use jumpseat_pull::RecordedSamples;
use jumpseat_trip::{FlacFile, TripError, is_flac};

/// Whether a sound file holds what was recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum SamplesProof {
    /// It does.
    Same,
    /// It does not.
    Differs,
    /// Neither the journal nor the file itself has a checksum.
    Unknown,
}

/// Compares the samples of a file with what the board recorded. A FLAC file of which
/// nothing was recorded is compared with its own checksum. `read` receives the bytes of
/// each block of samples.
pub(super) fn compare_samples(
    path: &Path,
    recorded: Option<&RecordedSamples>,
    read: &mut dyn FnMut(u64),
) -> Result<SamplesProof, TripError> {
    if let Some(recorded) = recorded {
        return Ok(if recorded.match_sound(path, read)? {
            SamplesProof::Same
        } else {
            SamplesProof::Differs
        });
    }
    if !is_flac(path) {
        return Ok(SamplesProof::Unknown);
    }
    for block in FlacFile::open(path)? {
        read(block?.len() as u64 * 2);
    }
    Ok(SamplesProof::Same)
}
