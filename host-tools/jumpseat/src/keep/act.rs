//! Does what was planned for a trip. It may end at any step: the trip can be read
//! after each, everything that is to stay is there, and the next run goes on.

use std::fs::{self, File};
use std::io::Write as _;
use std::path::Path;

use anyhow::{Context as _, Result};
use jumpseat_files::{sync_folder, write_durably};
use jumpseat_trip::{AudioSegment, RETENTION_FILE, RetainedFile, RetentionManifest, Trip};

use super::pack::{encode, prove};
use super::{KeepDecision, KeepPlan, length};
use crate::home::file_name;
use crate::pull::forget_checksums;

/// Packs and lets go; gives the bytes that became free. `step` is asked before
/// anything is changed.
pub(crate) fn act(plan: &KeepPlan, step: &mut dyn FnMut() -> Result<()>) -> Result<u64> {
    if !matches!(plan.fate, KeepDecision::Goes { .. }) {
        return Ok(0);
    }
    let trip = Trip::open(&plan.dir)?;
    let kept = match RetentionManifest::read(&plan.dir) {
        Some(kept) => kept,
        None => {
            let mut files = Vec::new();
            for segment in &plan.pack {
                files.push(pack(&trip, segment, step)?);
            }
            for segment in &plan.go {
                files.push(RetainedFile {
                    path: in_trip(segment),
                    bytes: length(&segment.path)?,
                    now: None,
                });
            }
            files.sort_by(|one, other| one.path.cmp(&other.path));
            let kept = RetentionManifest { format: 1, files };
            // From here on what is missing is no damage, and nothing is undone.
            step()?;
            let mut text = serde_json::to_vec_pretty(&kept)?;
            text.push(b'\n');
            write_durably(&plan.dir.join(RETENTION_FILE), &text)?;
            kept
        }
    };
    let mut freed = 0;
    for file in &kept.files {
        let path = plan.dir.join(&file.path);
        let Ok(data) = fs::metadata(&path) else {
            continue;
        };
        let packed = file.now.as_ref().map(|now| length(&plan.dir.join(now)));
        let packed = packed.transpose()?.unwrap_or(0);
        step()?;
        fs::remove_file(&path)
            .with_context(|| format!("cannot remove {}; keep again", path.display()))?;
        freed += data.len().saturating_sub(packed);
    }
    step()?;
    sync_folder(&plan.dir.join("audio"))?;
    let gone: Vec<&str> = kept.files.iter().map(|file| file.path.as_str()).collect();
    step()?;
    forget_checksums(&plan.dir, &gone)?;
    Ok(freed)
}

/// Bytes of files that were to go and are still there.
pub(super) fn left_over(dir: &Path, kept: &RetentionManifest) -> Result<u64> {
    let there = kept.files.iter().map(|file| dir.join(&file.path));
    there
        .filter(|path| path.exists())
        .map(|path| length(&path))
        .sum()
}

/// Writes the FLAC file of a segment beside it, and proves it.
fn pack(
    trip: &Trip,
    segment: &AudioSegment,
    step: &mut dyn FnMut() -> Result<()>,
) -> Result<RetainedFile> {
    let bytes = length(&segment.path)?;
    let flac = segment.path.with_extension("flac");
    let part = flac.with_file_name(format!(".{}.part", file_name(&flac)));
    let samples = trip.read_segment(segment.number)?;
    step()?;
    let packed = encode(&samples, trip.header().audio.sample_rate)?;
    File::create(&part)
        .and_then(|mut file| file.write_all(&packed).and_then(|()| file.sync_all()))
        .with_context(|| format!("cannot write {}; is the disk full?", part.display()))?;
    // The decoder goes by the name's ending.
    step()?;
    fs::rename(&part, &flac).with_context(|| format!("cannot name {}", flac.display()))?;
    prove(&flac, &samples)?;
    if let Some(folder) = flac.parent() {
        step()?;
        sync_folder(folder)?;
    }
    let path = in_trip(segment);
    let now = path.trim_end_matches("wav").to_owned() + "flac";
    Ok(RetainedFile {
        path,
        bytes,
        now: Some(now),
    })
}

fn in_trip(segment: &AudioSegment) -> String {
    format!("audio/{}", file_name(&segment.path))
}
