//! Keeps what the model makes of a file, so that the decoder can be judged alone.
//!
//! A kept file: seconds of sound, then for each stretch its beginning in seconds and two
//! lists, each a count and so many log-probabilities; all 32-bit floats but the counts,
//! little-endian.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Instant;

use anyhow::{Context, Result};
use jumpseat_speech::{Hearing, RecogniserError, RtenModel, SpeechRecogniser, StretchScores};
use sha2::{Digest, Sha256};

/// What was heard in a file.
pub(crate) struct BenchHearing {
    pub(crate) hearing: Hearing,
    /// Length of the file in seconds.
    pub(crate) length_s: f64,
    /// Time taken in seconds; unknown if the scores were kept ones.
    pub(crate) taken_s: Option<f64>,
}

/// Listens to files, or reads scores that were kept.
pub(crate) struct ScoreSource {
    ear: SpeechRecogniser<RtenModel>,
    cache: Option<PathBuf>,
}

impl ScoreSource {
    /// Listens with `weights`; what it has once heard is kept in `cache`.
    pub(crate) fn new(weights: &Path, cache: Option<&Path>) -> Result<Self> {
        let ear = SpeechRecogniser::with_model(RtenModel::open(weights)?);
        let Some(cache) = cache else {
            return Ok(Self { ear, cache: None });
        };
        let hash =
            Sha256::digest(fs::read(weights).with_context(|| weights.display().to_string())?);
        let name: String = hash.iter().take(6).map(|b| format!("{b:02x}")).collect();
        let folder = cache.join(name);
        fs::create_dir_all(&folder)
            .with_context(|| format!("{}: scores cannot be kept there", folder.display()))?;
        Ok(Self {
            ear,
            cache: Some(folder),
        })
    }

    /// What is heard in the WAV file `name` in `folder`.
    pub(crate) fn hear(&self, folder: &Path, name: &str) -> Result<BenchHearing> {
        let kept = self.cache.as_ref().map(|c| c.join(name.replace('/', "-")));
        let Some(kept) = kept else {
            let (samples, rate) = read(&folder.join(name))?;
            let start = Instant::now();
            let hearing = self.ear.hear(&samples, rate)?;
            return Ok(BenchHearing {
                hearing,
                length_s: samples.len() as f64 / f64::from(rate),
                taken_s: Some(start.elapsed().as_secs_f64()),
            });
        };
        let found = fs::read(&kept).ok().and_then(|bytes| decoded(&bytes));
        let (length_s, scored) = match found {
            Some(found) => found,
            None => {
                let (samples, rate) = read(&folder.join(name))?;
                let length_s = samples.len() as f64 / f64::from(rate);
                let scored = self.ear.score_stretches(&samples, rate)?;
                fs::write(&kept, encoded(length_s, &scored))
                    .with_context(|| format!("{}: scores cannot be kept there", kept.display()))?;
                (length_s, scored)
            }
        };
        let mut hearing = Hearing::default();
        for stretch in scored {
            hearing.add_stretch(stretch.start_s, &stretch.plain, |steps| {
                Ok::<_, RecogniserError>(stretch.slowed_part(steps))
            })?;
        }
        Ok(BenchHearing {
            hearing,
            length_s,
            taken_s: None,
        })
    }
}

/// The samples and the rate of a WAV file.
pub(crate) fn read(path: &Path) -> Result<(Vec<i16>, u32)> {
    let mut reader = hound::WavReader::open(path)
        .with_context(|| format!("{}: make the set again", path.display()))?;
    let samples = reader.samples::<i16>().collect::<Result<_, _>>();
    let rate = reader.spec().sample_rate;
    Ok((samples.with_context(|| path.display().to_string())?, rate))
}

fn encoded(length_s: f64, scored: &[StretchScores]) -> Vec<u8> {
    let mut out = (length_s as f32).to_le_bytes().to_vec();
    for stretch in scored {
        out.extend((stretch.start_s as f32).to_le_bytes());
        for values in [&stretch.plain, &stretch.slowed] {
            out.extend((values.len() as u32).to_le_bytes());
            out.extend(values.iter().flat_map(|v| v.to_le_bytes()));
        }
    }
    out
}

fn decoded(bytes: &[u8]) -> Option<(f64, Vec<StretchScores>)> {
    let mut rest = bytes.chunks_exact(4).filter_map(|b| b.try_into().ok());
    let length_s = f64::from(f32::from_le_bytes(rest.next()?));
    let mut scored = Vec::new();
    while let Some(start) = rest.next() {
        let mut values = || {
            let count = u32::from_le_bytes(rest.next()?) as usize;
            let values: Vec<f32> = rest.by_ref().take(count).map(f32::from_le_bytes).collect();
            (values.len() == count).then_some(values)
        };
        scored.push(StretchScores {
            start_s: f64::from(f32::from_le_bytes(start)),
            plain: values()?,
            slowed: values()?,
        });
    }
    Some((length_s, scored))
}
