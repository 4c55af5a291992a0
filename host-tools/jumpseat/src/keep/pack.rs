//! Encodes samples as FLAC, and checks that nothing is lost.

use std::fs;
use std::path::Path;

use anyhow::{Context as _, Result, anyhow, ensure};
use flacenc::component::BitRepr as _;
use flacenc::error::Verify as _;
use jumpseat_trip::read_sound;

/// Encodes samples; returns the bytes of a FLAC file.
pub(super) fn encode(samples: &[i16], sample_rate: u32) -> Result<Vec<u8>> {
    let wide: Vec<i32> = samples.iter().map(|&sample| sample.into()).collect();
    let source =
        flacenc::source::MemSource::from_samples(&wide, 1, 16, usize::try_from(sample_rate)?);
    let config = flacenc::config::Encoder::default()
        .into_verified()
        .map_err(|(_, error)| anyhow!("the FLAC encoder cannot be set up: {error}"))?;
    let stream = flacenc::encode_with_fixed_block_size(&config, source, config.block_size)
        .map_err(|error| anyhow!("the sound cannot be packed: {error}"))?;
    let mut sink = flacenc::bitsink::ByteSink::new();
    stream
        .write(&mut sink)
        .map_err(|error| anyhow!("the sound cannot be packed: {error}"))?;
    Ok(sink.into_inner())
}

/// Decodes a FLAC file, with the decoder of another library, and compares every sample.
pub(super) fn check_packed(path: &Path, samples: &[i16]) -> Result<()> {
    let read = read_sound(path, samples.len() as u64)
        .with_context(|| format!("cannot read {} back", path.display()))?;
    let same = read == samples;
    if !same {
        fs::remove_file(path).with_context(|| format!("cannot remove {}", path.display()))?;
    }
    ensure!(
        same,
        "{} does not decode to what was packed; it was removed, and the trip is unchanged",
        path.display()
    );
    Ok(())
}
