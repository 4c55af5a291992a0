//! Room on the disk: of trips that are old enough the sound of confirmed contacts
//! is kept, packed without loss, and the rest goes.
//!
//! A trip is touched only when its date is known, it was drafted, something of it is
//! confirmed and nothing of it waits for a decision.

mod act;
mod pack;
#[cfg(test)]
mod tests;

use std::collections::BTreeSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result};
use chrono::{DateTime, TimeDelta, Utc};
use jumpseat_entries::Entry;
use jumpseat_logbook::{EntryFilter, Logbook};
use jumpseat_trip::{AudioSegment, RetentionManifest, SegmentState, Trip};
use serde::Serialize;

use crate::clock;
use crate::home::{HomeFolder, file_name};

pub(crate) use act::act;

/// Sound before and after a contact that stays with it.
const CONTACT_MARGIN_S: f64 = 60.0;

/// What is to be done with a trip, and why.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "what", rename_all = "snake_case")]
pub(crate) enum KeepDecision {
    /// It stays as it is; in words why.
    Stays { why: String },
    /// It was gone through already.
    Done,
    /// The sound of confirmed contacts is packed, the rest goes.
    Goes {
        contacts: usize,
        packed_files: usize,
        packed_bytes: u64,
        gone_files: usize,
        gone_bytes: u64,
    },
}

/// A trip and what is to be done with it.
pub(crate) struct KeepPlan {
    pub(crate) trip: String,
    pub(crate) start: Option<DateTime<Utc>>,
    pub(crate) fate: KeepDecision,
    pub(crate) dir: PathBuf,
    /// Segments whose sound is packed.
    pack: Vec<AudioSegment>,
    /// Segments whose sound goes.
    go: Vec<AudioSegment>,
}

/// Looks at every trip of the library; those that began before `limit` are old
/// enough.
pub(crate) fn plans(home: &HomeFolder, limit: DateTime<Utc>) -> Result<Vec<KeepPlan>> {
    let logbook = home.logbook_read_only()?;
    let folders = home.trip_folders()?;
    folders
        .iter()
        .map(|folder| plan(home, logbook.as_ref(), folder, limit))
        .collect()
}

fn plan(
    home: &HomeFolder,
    logbook: Option<&Logbook>,
    folder: &Path,
    limit: DateTime<Utc>,
) -> Result<KeepPlan> {
    let mut plan = KeepPlan {
        trip: file_name(folder),
        start: None,
        fate: KeepDecision::Done,
        dir: folder.to_owned(),
        pack: Vec::new(),
        go: Vec::new(),
    };
    let stays = |why: &str| KeepDecision::Stays { why: why.into() };
    let trip = match Trip::open(folder) {
        Ok(trip) => trip,
        Err(error) => {
            plan.fate = stays(&error.to_string());
            return Ok(plan);
        }
    };
    plan.start = clock::timeline(&trip).at_sample(0).value;
    if let Some(kept) = RetentionManifest::read(folder) {
        // What a broken-off run left is finished by the next one.
        let left = act::left_over(folder, &kept)?;
        if left > 0 {
            plan.fate = KeepDecision::Goes {
                contacts: 0,
                packed_files: 0,
                packed_bytes: 0,
                gone_files: kept.files.len(),
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
    let open = entries.iter().filter(|entry| is_open(entry)).count();
    plan.fate = if !home.heard_drive_file(trip.id()).exists() {
        stays("it was not drafted yet")
    } else if plan.start.is_none() {
        stays("its date is not known")
    } else if plan.start.is_some_and(|start| start > limit) {
        stays("it is not old enough")
    } else if open > 0 {
        stays("not everything of it is decided")
    } else if confirmed.is_empty() {
        stays("nothing of it is confirmed")
    } else if confirmed.iter().any(|entry| entry.draft.is_none()) {
        stays("a confirmed contact of it has no place on its time line")
    } else {
        share_out(&trip, &confirmed, &mut plan)?
    };
    Ok(plan)
}

fn is_confirmed(entry: &Entry) -> bool {
    entry.contact.is_some()
}

/// It waits for a decision, or was begun to be changed.
fn is_open(entry: &Entry) -> bool {
    entry.contact.is_none() && !entry.is_no_contact()
}

/// Parts the segments into those with a confirmed contact near and the rest.
fn share_out(trip: &Trip, confirmed: &[&Entry], plan: &mut KeepPlan) -> Result<KeepDecision> {
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
    // A file that the disk did not show just now is not gone.
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
        let why = format!("{path} cannot be read; check the disk, and keep again");
        return Ok(KeepDecision::Stays { why });
    }
    let wav = |segment: &&AudioSegment| segment.path.extension().is_some_and(|word| word == "wav");
    let there = trip
        .segments()
        .iter()
        .filter(|segment| segment.state != SegmentState::Missing && segment.count > 0);
    (plan.pack, plan.go) = there.filter(wav).cloned().partition(near);
    let sum = |segments: &[AudioSegment]| -> Result<u64> {
        segments.iter().map(|segment| length(&segment.path)).sum()
    };
    // Two confirmed entries may be one contact, after a restored export.
    let contacts: BTreeSet<i64> = confirmed.iter().map(|entry| entry.number).collect();
    Ok(KeepDecision::Goes {
        contacts: contacts.len(),
        packed_files: plan.pack.len(),
        packed_bytes: sum(&plan.pack)?,
        gone_files: plan.go.len(),
        gone_bytes: sum(&plan.go)?,
    })
}

/// Bytes of a file.
fn length(path: &Path) -> Result<u64> {
    let data = fs::metadata(path);
    Ok(data
        .with_context(|| format!("cannot look at {}; check the disk", path.display()))?
        .len())
}

/// The instant before which a trip must have begun to be old enough.
pub(crate) fn limit(now: DateTime<Utc>, days: u32) -> DateTime<Utc> {
    now - TimeDelta::days(days.into())
}
