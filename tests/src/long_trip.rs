//! A trip of any length out of the demo drive: its two conversations come again and
//! again, with quiet road between them. Made in seconds, because sound that repeats is
//! linked and not written; what reads it sees a trip as long as it says.

use std::fs;
use std::path::{Path, PathBuf};

use chrono::{DateTime, SecondsFormat, TimeDelta, Utc};
use jumpseat_core::journal::{JournalEvent, JournalRecord, PositionSource, TimeSource, clip};
use jumpseat_test_kit::{PartError, demo_card};

use crate::journal_file;

const RATE: u64 = 16_000;
const TRIP: &str = "trip-000001-3fa2c1";
/// The demo drive's length and its first, quiet audio file, in samples.
const DEMO_DRIVE_SAMPLES: u64 = 317 * RATE;
const QUIET_SEGMENT_SAMPLES: u64 = 42 * RATE;
/// So many quiet files follow each drive: 905 s together.
const QUIET_SEGMENTS_PER_DRIVE: u64 = 14;
/// The monotonic clock at the first sample.
const BEGIN_NS: u64 = 60_000_000_000;

/// Writes the trip into the folder of a card: so many times two contacts and a call
/// that nobody answers, each about a quarter of an hour. Gives the trip's folder.
pub fn write(card: &Path, times: u64) -> Result<PathBuf, PartError> {
    let demo = demo_card().join(TRIP);
    let trip = card.join(TRIP);
    let audio = trip.join("audio");
    fs::create_dir_all(&audio).map_err(PartError::file(&audio))?;
    let header = trip.join("trip.json");
    fs::copy(demo.join("trip.json"), &header).map_err(PartError::file(&header))?;
    let path = demo.join("journal.jsonl");
    let text = fs::read_to_string(&path).map_err(PartError::file(&path))?;
    let records = journal_file::records(&text);
    let mut writer = LongTripWriter {
        demo: demo.join("audio"),
        audio,
        records: records.first().cloned().into_iter().collect(),
        segment: 0,
    };
    for time in 0..times {
        writer.drive(
            &records,
            time * (DEMO_DRIVE_SAMPLES + QUIET_SEGMENTS_PER_DRIVE * QUIET_SEGMENT_SAMPLES),
        )?;
    }
    writer.journal(&trip.join("journal.jsonl"))?;
    Ok(trip)
}

fn mono(sample: u64) -> u64 {
    BEGIN_NS + sample * 1_000_000_000 / RATE
}

struct LongTripWriter {
    demo: PathBuf,
    audio: PathBuf,
    records: Vec<JournalRecord>,
    segment: u32,
}

impl LongTripWriter {
    /// One drive from the sample `from` on, and the quiet road after it.
    fn drive(&mut self, records: &[JournalRecord], from: u64) -> Result<(), PartError> {
        let base = self.segment;
        for record in records {
            let mut event = record.event.clone();
            match &mut event {
                JournalEvent::SegmentOpened {
                    segment,
                    first_sample,
                    ..
                } => {
                    *segment += base;
                    *first_sample += from;
                }
                JournalEvent::SegmentClosed {
                    segment,
                    direction,
                    first_sample,
                    ..
                } => {
                    let name = |number: u32| format!("{number:06}-{}.flac", direction.name());
                    self.link(&name(*segment), &name(*segment + base))?;
                    *segment += base;
                    self.segment = self.segment.max(*segment);
                    *first_sample += from;
                }
                JournalEvent::Clock { sample } => *sample += from,
                // Those of the whole way are written anew.
                JournalEvent::TimeFix { .. } | JournalEvent::PositionFix { .. } => continue,
                JournalEvent::Start { .. } | JournalEvent::Shutdown { .. } => continue,
                _ => {}
            }
            let mono_ns = record.mono_ns + mono(from) - BEGIN_NS;
            self.push(mono_ns, event);
        }
        for quiet in 0..QUIET_SEGMENTS_PER_DRIVE {
            self.quiet(from + DEMO_DRIVE_SAMPLES + quiet * QUIET_SEGMENT_SAMPLES)?;
        }
        for second in
            0..(DEMO_DRIVE_SAMPLES + QUIET_SEGMENTS_PER_DRIVE * QUIET_SEGMENT_SAMPLES) / RATE
        {
            self.fixes(from / RATE + second);
        }
        Ok(())
    }

    fn quiet(&mut self, first_sample: u64) -> Result<(), PartError> {
        self.segment += 1;
        let (segment, direction) = (self.segment, jumpseat_core::journal::AudioDirection::Rx);
        self.link("000001-rx.flac", &format!("{segment:06}-rx.flac"))?;
        let opened = JournalEvent::SegmentOpened {
            segment,
            direction,
            first_sample,
        };
        self.push(mono(first_sample), opened);
        let sample = first_sample + QUIET_SEGMENT_SAMPLES / 2;
        self.push(mono(sample), JournalEvent::Clock { sample });
        let closed = JournalEvent::SegmentClosed {
            segment,
            direction,
            first_sample,
            count: QUIET_SEGMENT_SAMPLES,
        };
        self.push(mono(first_sample + QUIET_SEGMENT_SAMPLES), closed);
        Ok(())
    }

    /// Time and place at a second: a road to the east with long bends.
    fn fixes(&mut self, second: u64) {
        let at = second as f64;
        let utc = DateTime::<Utc>::UNIX_EPOCH
            + TimeDelta::seconds(1_778_770_931 + i64::try_from(second).unwrap_or(0));
        let mono_ns = BEGIN_NS + second * 1_000_000_000;
        let time = JournalEvent::TimeFix {
            utc: clip(&utc.to_rfc3339_opts(SecondsFormat::Secs, true)),
            source: TimeSource::Nmea,
            valid: true,
            within_ms: None,
        };
        self.push(mono_ns, time);
        let place = JournalEvent::PositionFix {
            lat: 41.5 + 0.2 * (at / 3000.0).sin(),
            lon: -109.6 + at * 2.8e-4,
            alt_m: None,
            speed_mps: Some(25.0),
            satellites: Some(9),
            hdop: Some(1.0),
            source: PositionSource::Nmea,
            valid: true,
        };
        self.push(mono_ns, place);
    }

    fn push(&mut self, mono_ns: u64, event: JournalEvent) {
        let Some(first) = self.records.first() else {
            return;
        };
        let boot = first.boot.clone();
        self.records.push(JournalRecord {
            seq: 0,
            boot,
            mono_ns,
            event,
        });
    }

    fn link(&self, from: &str, to: &str) -> Result<(), PartError> {
        let (from, to) = (self.demo.join(from), self.audio.join(to));
        // Where a link cannot be made, on another file system, it is copied.
        fs::hard_link(&from, &to)
            .or_else(|_| fs::copy(&from, &to).map(|_| ()))
            .map_err(PartError::file(&to))
    }

    fn journal(self, path: &Path) -> Result<(), PartError> {
        let text = journal_file::text(self.records);
        let text = text.map_err(|error| PartError::failed("journal", error))?;
        fs::write(path, text).map_err(PartError::file(path))
    }
}
