//! What the model makes of a file, kept so that the decoder can be judged alone.
//!
//! A kept file: seconds of sound, seconds taken, then for each stretch its beginning in
//! seconds, the number of log-probabilities and these; all little-endian 32-bit floats
//! but for the number.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Instant;

use anyhow::{Context, Result};
use jumpseat_hear::{Ear, Rten};
use sha2::{Digest, Sha256};

/// Scores of a file.
pub(crate) struct Scores {
    /// Length of the file, and time that the model took for it, in seconds.
    pub(crate) length_s: f64,
    pub(crate) taken_s: f64,
    /// Beginning of every stretch in seconds, and its log-probabilities.
    pub(crate) stretches: Vec<(f64, Vec<f32>)>,
}

/// Listens to files, or remembers.
pub(crate) struct Source {
    ear: Ear<Rten>,
    cache: Option<PathBuf>,
}

impl Source {
    /// Listens with `weights`; what it has once heard is kept in `cache`.
    pub(crate) fn new(weights: &Path, cache: Option<&Path>) -> Result<Self> {
        let ear = Ear::with(Rten::open(weights)?);
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

    /// The scores of the WAV file `name` in `folder`.
    pub(crate) fn scores(&self, folder: &Path, name: &str) -> Result<Scores> {
        let kept = self.cache.as_ref().map(|c| c.join(name.replace('/', "-")));
        if let Some(found) = kept
            .as_ref()
            .and_then(|k| fs::read(k).ok())
            .and_then(|b| decoded(&b))
        {
            return Ok(found);
        }
        let fresh = self.listen(&folder.join(name))?;
        if let Some(kept) = kept {
            fs::write(&kept, encoded(&fresh))
                .with_context(|| format!("{}: scores cannot be kept there", kept.display()))?;
        }
        Ok(fresh)
    }

    fn listen(&self, path: &Path) -> Result<Scores> {
        let mut reader = hound::WavReader::open(path)
            .with_context(|| format!("{}: make the set again", path.display()))?;
        let rate = reader.spec().sample_rate;
        let samples: Vec<i16> = reader
            .samples::<i16>()
            .collect::<Result<_, _>>()
            .with_context(|| path.display().to_string())?;
        let start = Instant::now();
        let stretches = self.ear.listen(&samples, rate)?;
        Ok(Scores {
            length_s: samples.len() as f64 / f64::from(rate),
            taken_s: start.elapsed().as_secs_f64(),
            stretches,
        })
    }
}

fn encoded(scores: &Scores) -> Vec<u8> {
    let mut out = Vec::new();
    let mut put = |x: f64| out.extend_from_slice(&(x as f32).to_le_bytes());
    put(scores.length_s);
    put(scores.taken_s);
    for (start_s, values) in &scores.stretches {
        out.extend_from_slice(&(*start_s as f32).to_le_bytes());
        out.extend_from_slice(&(values.len() as u32).to_le_bytes());
        out.extend(values.iter().flat_map(|v| v.to_le_bytes()));
    }
    out
}

fn decoded(bytes: &[u8]) -> Option<Scores> {
    let mut rest = bytes.chunks_exact(4).filter_map(|b| b.try_into().ok());
    let float = |rest: &mut dyn Iterator<Item = [u8; 4]>| rest.next().map(f32::from_le_bytes);
    let length_s = f64::from(float(&mut rest)?);
    let taken_s = f64::from(float(&mut rest)?);
    let mut stretches = Vec::new();
    while let Some(start_s) = float(&mut rest) {
        let count = u32::from_le_bytes(rest.next()?) as usize;
        let values: Vec<f32> = rest.by_ref().take(count).map(f32::from_le_bytes).collect();
        if values.len() < count {
            return None;
        }
        stretches.push((f64::from(start_s), values));
    }
    Some(Scores {
        length_s,
        taken_s,
        stretches,
    })
}
