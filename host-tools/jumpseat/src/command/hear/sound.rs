//! A sound file, sample by sample.

use std::io::BufReader;
use std::path::Path;

use anyhow::{Context as _, Result, bail};
use hound::{SampleFormat, WavReader};
use jumpseat_files::open_given_file;
use jumpseat_trip::{FlacFile, is_flac};

use crate::progress::ProgressLine;

/// What is in a file.
pub(super) struct SoundSamples {
    /// Samples per second.
    pub(super) rate: u32,
    pub(super) channels: usize,
    /// Samples of each channel.
    pub(super) frames: u64,
    /// Channels in turn, -1 to 1.
    pub(super) samples: Box<dyn Iterator<Item = Result<f32>>>,
}

impl SoundSamples {
    /// Opens a WAV or FLAC file.
    pub(super) fn open(file: &Path) -> Result<Self> {
        if matches!(file.try_exists(), Ok(false)) {
            bail!("there is no file {}; check its name", file.display());
        }
        if is_flac(file) {
            return Self::flac(file);
        }
        let cannot = || {
            format!(
                "{} cannot be read as a WAV file; convert it to 16-bit WAV or to FLAC",
                file.display()
            )
        };
        let opened = open_given_file(file).with_context(cannot)?;
        let reader = WavReader::new(BufReader::new(opened)).with_context(cannot)?;
        let spec = reader.spec();
        let frames = u64::from(reader.duration());
        let scale = 2_f32.powi(i32::from(spec.bits_per_sample) - 1);
        let name = file.display().to_string();
        let told = move |sample: hound::Result<f32>| {
            sample.with_context(|| {
                format!("{name} ends in the middle of a sample or is damaged; mend it or cut it, then try again")
            })
        };
        Ok(Self {
            rate: spec.sample_rate,
            channels: spec.channels.into(),
            frames,
            samples: match spec.sample_format {
                SampleFormat::Float => Box::new(reader.into_samples::<f32>().map(told)),
                SampleFormat::Int => Box::new(
                    reader
                        .into_samples::<i32>()
                        .map(move |sample| sample.map(|x| x as f32 / scale))
                        .map(told),
                ),
            },
        })
    }

    /// As `jumpseat keep` packs a trip's sound. Hearing takes much longer than reading:
    /// that the file is whole is found out before it begins.
    fn flac(file: &Path) -> Result<Self> {
        let frames = proven(file)?;
        let blocks = FlacFile::open(file)?;
        Ok(Self {
            rate: blocks.sample_rate(),
            channels: blocks.channels(),
            frames,
            samples: Box::new(blocks.flat_map(|block| {
                let (samples, error) = match block {
                    Ok(samples) => (samples, None),
                    Err(error) => (Vec::new(), Some(Err(error.into()))),
                };
                let samples = samples.into_iter().map(|x| Ok(f32::from(x) / 32768.0));
                samples.chain(error)
            })),
        })
    }
}

/// Reads a FLAC file to its end; how many samples each channel has.
fn proven(file: &Path) -> Result<u64> {
    let blocks = FlacFile::open(file)?;
    let channels = blocks.channels().max(1);
    let progress = ProgressLine::new("reading", blocks.declared(), false);
    let mut frames = 0;
    for block in blocks {
        let more = (block?.len() / channels) as u64;
        progress.add(more);
        frames += more;
    }
    Ok(frames)
}
