//! A sound file, sample by sample.

use std::path::Path;

use anyhow::{Context as _, Result, bail};
use hound::{SampleFormat, WavReader};
use jumpseat_trip::{is_flac, read_flac};

/// What is in a file.
pub(super) struct Sound {
    /// Samples per second.
    pub(super) rate: u32,
    pub(super) channels: usize,
    /// Samples of each channel.
    pub(super) frames: u64,
    /// Channels in turn, -1 to 1.
    pub(super) samples: Box<dyn Iterator<Item = hound::Result<f32>>>,
}

impl Sound {
    /// Opens a WAV or FLAC file.
    pub(super) fn open(file: &Path) -> Result<Self> {
        if matches!(file.try_exists(), Ok(false)) {
            bail!("there is no file {}; check its name", file.display());
        }
        if is_flac(file) {
            return Self::flac(file);
        }
        let reader = WavReader::open(file).with_context(|| {
            format!(
                "{} cannot be read as a WAV file; convert it to 16-bit WAV or to FLAC",
                file.display()
            )
        })?;
        let spec = reader.spec();
        let frames = u64::from(reader.duration());
        let scale = 2_f32.powi(i32::from(spec.bits_per_sample) - 1);
        Ok(Self {
            rate: spec.sample_rate,
            channels: spec.channels.into(),
            frames,
            samples: match spec.sample_format {
                SampleFormat::Float => Box::new(reader.into_samples::<f32>()),
                SampleFormat::Int => Box::new(
                    reader
                        .into_samples::<i32>()
                        .map(move |sample| sample.map(|x| x as f32 / scale)),
                ),
            },
        })
    }

    /// As `jumpseat keep` packs a trip's sound.
    fn flac(file: &Path) -> Result<Self> {
        let (form, samples) = read_flac(file)?;
        let channels = usize::from(form.channels);
        Ok(Self {
            rate: form.sample_rate,
            channels,
            frames: (samples.len() / channels.max(1)) as u64,
            samples: Box::new(samples.into_iter().map(|x| Ok(f32::from(x) / 32768.0))),
        })
    }
}
