//! Carries out the plan for a trip. It may be interrupted at any step: after each the trip
//! can be read, everything that is to be kept is there, and the next run continues.

use std::fs::{self, File};
use std::io::Write as _;

use anyhow::{Context as _, Result};
use jumpseat_files::{file_name, sync_folder, write_durably};
use jumpseat_pull::forget_checksums;
use jumpseat_trip::{AudioSegment, RETENTION_FILE, RetainedFile, RetentionManifest, Trip};

use super::pack::{check_packed, encode};
use super::plan::{KeepDecision, KeepPlan, file_length};

/// Packs and removes the sound of a trip; returns the bytes that became free. Calls `step`
/// before every change.
pub(crate) fn release_sound(plan: &KeepPlan, step: &mut dyn FnMut() -> Result<()>) -> Result<u64> {
    if !matches!(plan.decision, KeepDecision::Goes { .. }) {
        return Ok(0);
    }
    let trip = Trip::open(&plan.dir)?;
    let manifest = match RetentionManifest::read(&plan.dir) {
        Some(manifest) => manifest,
        None => {
            let mut files = Vec::new();
            for segment in &plan.pack {
                files.push(pack(&trip, segment, step)?);
            }
            for segment in &plan.remove {
                files.push(RetainedFile {
                    path: path_in_trip(segment),
                    bytes: file_length(&segment.path)?,
                    now: None,
                });
            }
            files.sort_by(|one, other| one.path.cmp(&other.path));
            let manifest = RetentionManifest { format: 1, files };
            // From here on a missing file is no damage, and nothing is undone.
            step()?;
            let mut text = serde_json::to_vec_pretty(&manifest)?;
            text.push(b'\n');
            write_durably(&plan.dir.join(RETENTION_FILE), &text)?;
            manifest
        }
    };
    let mut freed = 0;
    for file in &manifest.files {
        let path = plan.dir.join(&file.path);
        let Ok(data) = fs::metadata(&path) else {
            continue;
        };
        let packed = file
            .now
            .as_ref()
            .map(|now| file_length(&plan.dir.join(now)));
        let packed = packed.transpose()?.unwrap_or(0);
        step()?;
        fs::remove_file(&path)
            .with_context(|| format!("cannot remove {}; run keep again", path.display()))?;
        freed += data.len().saturating_sub(packed);
    }
    step()?;
    sync_folder(&plan.dir.join("audio"))?;
    let gone: Vec<&str> = manifest
        .files
        .iter()
        .map(|file| file.path.as_str())
        .collect();
    step()?;
    forget_checksums(&plan.dir, &gone)?;
    Ok(freed)
}

/// Writes the FLAC file of a segment beside it, and compares it.
fn pack(
    trip: &Trip,
    segment: &AudioSegment,
    step: &mut dyn FnMut() -> Result<()>,
) -> Result<RetainedFile> {
    let bytes = file_length(&segment.path)?;
    let flac = segment.path.with_extension("flac");
    let part = flac.with_file_name(format!(".{}.part", file_name(&flac)));
    let samples = trip.read_segment(segment.number)?;
    step()?;
    let packed = encode(&samples, trip.header().audio.sample_rate)?;
    File::create(&part)
        .and_then(|mut file| file.write_all(&packed).and_then(|()| file.sync_all()))
        .with_context(|| format!("cannot write {}; is the disk full?", part.display()))?;
    // The decoder recognises the format by the extension.
    step()?;
    fs::rename(&part, &flac).with_context(|| format!("cannot rename {}", flac.display()))?;
    check_packed(&flac, &samples)?;
    if let Some(folder) = flac.parent() {
        step()?;
        sync_folder(folder)?;
    }
    let path = path_in_trip(segment);
    let now = path.trim_end_matches("wav").to_owned() + "flac";
    Ok(RetainedFile {
        path,
        bytes,
        now: Some(now),
    })
}

fn path_in_trip(segment: &AudioSegment) -> String {
    format!("audio/{}", file_name(&segment.path))
}
