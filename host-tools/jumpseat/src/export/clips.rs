//! Writes the sound of each contact into a file of its own.

use std::path::Path;

use anyhow::{Context as _, Result};
use chrono::{DateTime, TimeDelta, Utc};
use jumpseat_entries::{Contact, Draft, Entry};
use jumpseat_files::write_durably;
use jumpseat_formats::bwf::{self, BroadcastDescription};
use jumpseat_trip::{AudioDirection, SampleSpan, Timeline, Trip};
use jumpseat_values::display::{megahertz, nearest_second};

use super::clip_page;
use super::software::PROGRAM;
use super::staging::StagedFolder;
use crate::clock;
use crate::home::HomeFolder;
use crate::outcome::error_message;

/// Sound before the first over and after the last one, so that nothing is cut.
const CLIP_MARGIN_S: f64 = 2.0;

/// One contact's sound.
struct ContactClip {
    wave: Vec<u8>,
    seconds: f64,
    /// Without any sound, in seconds.
    lost_s: f64,
}

/// Writes the folder; takes out entries without sound, and gives the doubts. The
/// folder gets its name when it is whole.
pub(super) fn write(
    home: &HomeFolder,
    entries: &mut Vec<Entry>,
    out: &Path,
) -> Result<Vec<String>> {
    let staging = StagedFolder::beside(out)?;
    let (mut written, mut doubts): (Vec<clip_page::ClipRow>, Vec<String>) =
        (Vec::new(), Vec::new());
    let mut open: Option<(String, Trip, Timeline)> = None;
    let mut kept = Vec::new();
    for entry in entries.drain(..) {
        let clip = match clip(home, &entry, &mut open) {
            Ok(clip) => clip,
            Err(error) => {
                doubts.push(format!(
                    "entry {}: no sound: {}",
                    entry.number,
                    error_message(&error)
                ));
                continue;
            }
        };
        let Some(contact) = &entry.contact else {
            continue;
        };
        let mut name = name(contact);
        if written
            .iter()
            .any(|line| line.file == format!("{name}.wav"))
        {
            name.push_str(&format!("-{}", entry.number));
        }
        let file = format!("{name}.wav");
        write_durably(&staging.path().join(&file), &clip.wave)?;
        if clip.lost_s >= 0.1 {
            let lost = clip.lost_s;
            doubts.push(format!(
                "entry {}: {lost:.1} s of its sound are lost, silence in the clip",
                entry.number
            ));
        }
        written.push(clip_page::ClipRow::new(file, contact, clip.seconds));
        kept.push(entry);
    }
    *entries = kept;
    if written.is_empty() {
        return Ok(doubts);
    }
    let index = staging.path().join("index.html");
    write_durably(&index, clip_page::page(&written).as_bytes())?;
    staging.finish(out)?;
    Ok(doubts)
}

/// Cuts the sound of an entry out of its trip; the trip stays open for the next.
fn clip(
    home: &HomeFolder,
    entry: &Entry,
    open: &mut Option<(String, Trip, Timeline)>,
) -> Result<ContactClip> {
    let (name, draft) = entry
        .trip
        .as_ref()
        .zip(entry.draft.as_ref())
        .context("it is from no trip")?;
    if open.as_ref().is_none_or(|(known, ..)| known != name) {
        let trip = home.open_trip(name)?;
        let timeline = clock::timeline(&trip);
        *open = Some((name.clone(), trip, timeline));
    }
    let (_, trip, timeline) = open.as_ref().context("its trip cannot be read")?;
    let (first, samples) = range(trip, draft);
    let received = trip.read_span(AudioDirection::Rx, first, samples)?;
    let sent = trip.read_span(AudioDirection::Tx, first, samples)?;
    let there = present(&received) + present(&sent);
    anyhow::ensure!(there > 0, "its sound files are missing");
    let mixed: Vec<i16> = received
        .samples
        .iter()
        .zip(&sent.samples)
        .map(|(received, sent)| received.saturating_add(*sent))
        .collect();
    let rate = trip.header().audio.sample_rate;
    let contact = entry.contact.as_ref();
    let on = contact.and_then(|contact| contact.on);
    let start = timeline
        .at_sample(first)
        .value
        .or_else(|| before(on?, draft.on_s - first as f64 / f64::from(rate)))
        .context("its time is not known")?;
    let about = BroadcastDescription {
        description: &contact.map(description).unwrap_or_default(),
        originator: PROGRAM,
        start,
    };
    Ok(ContactClip {
        wave: bwf::write(&about, rate, &mixed)?,
        seconds: samples as f64 / f64::from(rate),
        lost_s: samples.saturating_sub(there) as f64 / f64::from(rate),
    })
}

/// First sample and count, within what was recorded.
fn range(trip: &Trip, draft: &Draft) -> (u64, u64) {
    let rate = f64::from(trip.header().audio.sample_rate);
    // Seconds of a trip times its rate: far below 2^53.
    let sample = |seconds: f64| (seconds.max(0.0) * rate).round() as u64;
    let overs = trip.overs();
    let begins = overs.first().map_or(0, |over| over.first_sample);
    let ends = overs.last().map_or(0, jumpseat_trip::Over::end);
    let first = sample(draft.on_s - CLIP_MARGIN_S).clamp(begins, ends.max(begins));
    let end = sample(draft.off_s + CLIP_MARGIN_S).clamp(first, ends.max(first));
    (first, end - first)
}

fn present(span: &SampleSpan) -> u64 {
    let lost: u64 = span.lost.iter().map(|lost| lost.count).sum();
    (span.samples.len() as u64).saturating_sub(lost)
}

fn before(on: DateTime<Utc>, seconds: f64) -> Option<DateTime<Utc>> {
    on.checked_sub_signed(TimeDelta::milliseconds((seconds * 1e3).round() as i64))
}

fn description(contact: &Contact) -> String {
    let parts = [
        Some(contact.call.clone()),
        contact.hz.map(|hz| format!("{} MHz", megahertz(hz))),
        contact.submode.clone().or_else(|| contact.mode.clone()),
        contact
            .station
            .clone()
            .map(|own| format!("recorded by {own}")),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// UTC, so that they lie in order, call sign and band, in characters that every file
/// system takes.
fn name(contact: &Contact) -> String {
    let parts = [
        contact
            .on
            .map(|on| nearest_second(on).format("%Y%m%d-%H%M%S").to_string()),
        Some(contact.call.trim().replace(
            |c: char| !(c.is_ascii_alphanumeric() || c == '.' || c == '-'),
            "-",
        )),
        contact.band.clone(),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join("-")
}
