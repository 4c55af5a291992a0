//! Packs a trip folder: its WAV files become FLAC files, without loss.

use std::fs;
use std::path::{Path, PathBuf};

use flacenc::component::BitRepr as _;
use flacenc::error::Verify as _;

/// Why a trip could not be packed.
#[derive(Debug, thiserror::Error)]
pub enum PackError {
    /// A file could not be read, written or removed.
    #[error("cannot pack {}: {source}", path.display())]
    File {
        /// Which.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// A segment is no WAV file.
    #[error("cannot read {}: {source}", path.display())]
    Wav {
        /// Which.
        path: PathBuf,
        /// Why.
        source: hound::Error,
    },
    /// The encoder refused.
    #[error("cannot encode {}: {detail}", path.display())]
    Encode {
        /// Which.
        path: PathBuf,
        /// What it said.
        detail: String,
    },
}

/// Replaces every WAV file in the `audio` folder of a trip by a FLAC file of the
/// same name. Gives the bytes before and after.
pub fn pack(trip: &Path, progress: &mut dyn FnMut(f64)) -> Result<(u64, u64), PackError> {
    let audio = trip.join("audio");
    let mut wavs: Vec<PathBuf> = fs::read_dir(&audio)
        .map_err(file(&audio))?
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.extension().is_some_and(|extension| extension == "wav"))
        .collect();
    wavs.sort();
    let (mut before, mut after) = (0, 0);
    for (index, wav) in wavs.iter().enumerate() {
        progress(index as f64 / wavs.len() as f64);
        let flac = wav.with_extension("flac");
        let bytes = encode(wav)?;
        fs::write(&flac, &bytes).map_err(file(&flac))?;
        before += fs::metadata(wav).map_err(file(wav))?.len();
        after += bytes.len() as u64;
        fs::remove_file(wav).map_err(file(wav))?;
    }
    progress(1.0);
    Ok((before, after))
}

/// The FLAC file of a WAV file of 16 bits.
fn encode(path: &Path) -> Result<Vec<u8>, PackError> {
    let wav = |source| PackError::Wav {
        path: path.to_owned(),
        source,
    };
    let failed = |detail: String| PackError::Encode {
        path: path.to_owned(),
        detail,
    };
    let mut reader = hound::WavReader::open(path).map_err(wav)?;
    let spec = reader.spec();
    let samples: Result<Vec<i32>, _> = reader.samples().collect();
    let source = flacenc::source::MemSource::from_samples(
        &samples.map_err(wav)?,
        usize::from(spec.channels),
        usize::from(spec.bits_per_sample),
        spec.sample_rate as usize,
    );
    let config = flacenc::config::Encoder::default()
        .into_verified()
        .map_err(|(_, error)| failed(error.to_string()))?;
    let stream = flacenc::encode_with_fixed_block_size(&config, source, config.block_size)
        .map_err(|error| failed(error.to_string()))?;
    let mut sink = flacenc::bitsink::ByteSink::new();
    stream
        .write(&mut sink)
        .map_err(|error| failed(error.to_string()))?;
    Ok(sink.into_inner())
}

fn file(path: &Path) -> impl FnOnce(std::io::Error) -> PackError {
    let path = path.to_owned();
    move |source| PackError::File { path, source }
}
