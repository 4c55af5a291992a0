//! Decides what to do with each trip of the library, and why.

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result};
use chrono::{DateTime, TimeDelta, Utc};
use jumpseat_entries::Entry;
use jumpseat_files::file_name;
use jumpseat_logbook::{EntryFilter, Logbook};
use jumpseat_trip::{AudioSegment, RetentionManifest, SegmentState, Trip};
use serde::Serialize;

use crate::clock;
use crate::home::HomeFolder;

/// Seconds of sound before and after a contact that are kept with it.
const CONTACT_MARGIN_S: f64 = 60.0;

/// What to do with the sound of a trip, and why.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "what", rename_all = "snake_case")]
pub(crate) enum KeepDecision {
    /// Keep it as it is.
    Stays {
        /// Why, as a person reads it.
        why: String,
    },
    /// Nothing: it was reduced before.
    Done,
    /// Pack the sound of confirmed contacts and remove the other sound.
    Goes {
        contacts: usize,
        packed_files: usize,
        packed_bytes: u64,
        gone_files: usize,
        gone_bytes: u64,
    },
}

/// A trip and what to do with it.
pub(crate) struct KeepPlan {
    pub(crate) trip: String,
    pub(crate) start: Option<DateTime<Utc>>,
    pub(crate) decision: KeepDecision,
    pub(crate) dir: PathBuf,
    /// Segments to pack.
    pub(super) pack: Vec<AudioSegment>,
    /// Segments to remove.
    pub(super) remove: Vec<AudioSegment>,
}

/// Plans for every trip of the library; trips that began before `limit` are old enough.
pub(crate) fn make_plans(home: &HomeFolder, limit: DateTime<Utc>) -> Result<Vec<KeepPlan>> {
    let logbook = home.logbook_read_only()?;
    let folders = home.trip_folders()?;
    folders
        .iter()
        .map(|folder| make_plan(home, logbook.as_ref(), folder, limit))
        .collect()
}

fn make_plan(
    home: &HomeFolder,
    logbook: Option<&Logbook>,
    folder: &Path,
    limit: DateTime<Utc>,
) -> Result<KeepPlan> {
    let mut plan = KeepPlan {
        trip: file_name(folder),
        start: None,
        decision: KeepDecision::Done,
        dir: folder.to_owned(),
        pack: Vec::new(),
        remove: Vec::new(),
    };
    let stays = |why: &str| KeepDecision::Stays { why: why.into() };
    let trip = match Trip::open(folder) {
        Ok(trip) => trip,
        Err(error) => {
            plan.decision = stays(&error.to_string());
            return Ok(plan);
        }
    };
    plan.start = clock::timeline(&trip).at_sample(0).value;
    if let Some(manifest) = RetentionManifest::read(folder) {
        // The next run completes what an interrupted one left.
        let left = left_over(folder, &manifest)?;
        if left > 0 {
            plan.decision = KeepDecision::Goes {
                contacts: 0,
                packed_files: 0,
                packed_bytes: 0,
                gone_files: manifest.files.len(),
                gone_bytes: left,
            };
        }
        return Ok(plan);
    }
    let entries = match logbook {
        Some(logbook) => logbook.entries(&EntryFilter::Trip(trip.id()))?,
        None => Vec::new(),
    };
    let confirmed: Vec<&Entry> = entries.iter().filter(|entry| is_confirmed(entry)).collect();
    let undecided = entries.iter().filter(|entry| is_undecided(entry)).count();
    plan.decision = if !home.heard_drive_file(trip.id()).exists() {
        stays("it is not drafted yet")
    } else if plan.start.is_none() {
        stays("its date is not known")
    } else if plan.start.is_some_and(|start| start > limit) {
        stays("it is not old enough")
    } else if undecided > 0 {
        stays("some of its entries are undecided")
    } else if confirmed.is_empty() {
        stays("none of its entries is confirmed")
    } else if confirmed.iter().any(|entry| entry.draft.is_none()) {
        stays("one of its confirmed contacts has no place on its time line")
    } else {
        split_segments(&trip, &confirmed, &mut plan)?
    };
    Ok(plan)
}

fn is_confirmed(entry: &Entry) -> bool {
    entry.contact.is_some()
}

/// Whether it is undecided, or somebody began to change it.
fn is_undecided(entry: &Entry) -> bool {
    entry.contact.is_none() && !entry.is_no_contact()
}

/// Splits the segments into those near a confirmed contact and the others.
fn split_segments(trip: &Trip, confirmed: &[&Entry], plan: &mut KeepPlan) -> Result<KeepDecision> {
    let rate = f64::from(trip.header().audio.sample_rate);
    let near = |segment: &AudioSegment| {
        let (from, to) = (
            segment.first_sample as f64 / rate,
            segment.end() as f64 / rate,
        );
        confirmed
            .iter()
            .filter_map(|entry| entry.draft.as_ref())
            .any(|draft| {
                from < draft.off_s + CONTACT_MARGIN_S && to > draft.on_s - CONTACT_MARGIN_S
            })
    };
    // A file that the disk does not show just now is not gone.
    let unsure = |segment: &AudioSegment| {
        let looked = fs::metadata(&segment.path);
        !looked.is_err_and(|error| error.kind() == io::ErrorKind::NotFound)
    };
    let mut missing = trip
        .segments()
        .iter()
        .filter(|segment| segment.state == SegmentState::Missing);
    if let Some(segment) = missing.find(|segment| unsure(segment)) {
        let path = segment.path.display();
        let why = format!("{path} cannot be read; check the disk, and run keep again");
        return Ok(KeepDecision::Stays { why });
    }
    let wav = |segment: &&AudioSegment| segment.path.extension().is_some_and(|word| word == "wav");
    let there = trip
        .segments()
        .iter()
        .filter(|segment| segment.state != SegmentState::Missing && segment.count > 0);
    (plan.pack, plan.remove) = there.filter(wav).cloned().partition(near);
    let sum = |segments: &[AudioSegment]| -> Result<u64> {
        segments
            .iter()
            .map(|segment| file_length(&segment.path))
            .sum()
    };
    // Two confirmed entries may be one contact, after a restored export.
    let contacts: BTreeSet<i64> = confirmed.iter().map(|entry| entry.number).collect();
    Ok(KeepDecision::Goes {
        contacts: contacts.len(),
        packed_files: plan.pack.len(),
        packed_bytes: sum(&plan.pack)?,
        gone_files: plan.remove.len(),
        gone_bytes: sum(&plan.remove)?,
    })
}

/// Bytes of the files that were to be removed and are still there.
fn left_over(dir: &Path, manifest: &RetentionManifest) -> Result<u64> {
    let there = manifest.files.iter().map(|file| dir.join(&file.path));
    there
        .filter(|path| path.exists())
        .map(|path| file_length(&path))
        .sum()
}

/// The length of a file in bytes.
pub(super) fn file_length(path: &Path) -> Result<u64> {
    let data = fs::metadata(path);
    Ok(data
        .with_context(|| format!("cannot look at {}; check the disk", path.display()))?
        .len())
}

/// The instant before which a trip must have begun to be old enough.
pub(crate) fn age_limit(now: DateTime<Utc>, days: u32) -> DateTime<Utc> {
    now - TimeDelta::days(days.into())
}
