//! One sound file of a trip, WAV or FLAC: how much is in it, and the samples.

use std::fs::File;
use std::io;
use std::path::Path;

use crate::{AudioFormat, TripError, flac, wav};

/// What is really in a sound file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Held {
    /// Samples that can be read.
    pub present: u64,
    /// Samples according to the file's own header.
    pub declared: u64,
}

/// Looks into a file. `Err` says in plain words why it is no sound file of a trip.
pub(crate) fn held(path: &Path, form: AudioFormat) -> Result<Held, String> {
    if is_flac(path) {
        let flac = flac::probe(path)?;
        fits(form, flac.sample_rate, flac.bits, flac.channels)?;
        return Ok(Held {
            present: flac.declared,
            declared: flac.declared,
        });
    }
    let mut file = File::open(path).map_err(|error| error.to_string())?;
    let wav = wav::probe(&mut file)?;
    fits(form, wav.sample_rate, wav.bits.into(), wav.channels.into())?;
    Ok(Held {
        present: wav.present / 2,
        declared: wav.declared / 2,
    })
}

fn fits(form: AudioFormat, rate: u32, bits: u32, channels: usize) -> Result<(), String> {
    if rate == form.sample_rate
        && bits == u32::from(form.bits)
        && channels == usize::from(form.channels)
    {
        Ok(())
    } else {
        Err(format!(
            "it holds {rate} Hz, {bits} bits, {channels} channels; the trip has {} Hz, {} bits, {}",
            form.sample_rate, form.bits, form.channels
        ))
    }
}

/// Reads the first `count` samples of a WAV or FLAC file, told apart by the ending
/// of its name; fewer when the file ends before. An error when it cannot be read or
/// is no sound file of a trip.
pub fn read(path: &Path, count: u64) -> Result<Vec<i16>, TripError> {
    let io_error = |source: io::Error| TripError::Io {
        path: path.to_owned(),
        doing: "read the sound file",
        source,
    };
    let sound_error = |reason: String| TripError::Sound {
        path: path.to_owned(),
        reason,
    };
    let most = usize::try_from(count).unwrap_or(usize::MAX);
    let mut samples = if is_flac(path) {
        flac::read(path, most).map_err(sound_error)?
    } else {
        let mut file = File::open(path).map_err(io_error)?;
        let shape = wav::probe(&mut file).map_err(sound_error)?;
        if shape.declared == count.saturating_mul(2) && shape.declared <= shape.present {
            wav::read_closed(path).map_err(|error| match error {
                hound::Error::IoError(source) => io_error(source),
                other => sound_error(other.to_string()),
            })?
        } else {
            wav::read_raw(path, shape.start, count).map_err(io_error)?
        }
    };
    samples.truncate(most);
    Ok(samples)
}

/// Whether a file's name ends as FLAC files do.
pub fn is_flac(path: &Path) -> bool {
    path.extension()
        .is_some_and(|word| word.eq_ignore_ascii_case("flac"))
}
