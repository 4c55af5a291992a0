//! UTC and sample counts, resolved from all observations of a trip.

use std::time::Duration;

use chrono::{DateTime, Utc};
use jumpseat_core::journal::Event;

use crate::Trip;

/// The UTC of an instant.
#[derive(Debug, Clone, PartialEq)]
pub struct TimeEstimate {
    /// UTC; `None` when the trip never had a time fix.
    pub value: Option<DateTime<Utc>>,
    /// The truth lies within this on either side.
    pub uncertainty: Option<Duration>,
    /// What a person should know about it.
    pub doubts: Vec<String>,
}

/// The doubt of a time that cannot be known.
const UNKNOWN: &str = "unknown, relative only";

/// Clocks of a trip: sample count, monotonic clock, UTC.
#[derive(Debug, Clone)]
pub struct Timeline {
    rate: f64,
    /// Monotonic time of sample 0.
    start_ns: i128,
    /// UTC minus monotonic, nanoseconds.
    offset_ns: Option<i128>,
}

impl Timeline {
    /// Resolves the clocks of a trip.
    pub fn of(trip: &Trip) -> Self {
        let rate = f64::from(trip.header().audio.sample_rate);
        let starts = trip
            .records()
            .iter()
            .filter_map(|record| match record.event {
                Event::Clock { sample } => {
                    Some(i128::from(record.mono_ns) - (sample as f64 / rate * 1e9) as i128)
                }
                _ => None,
            });
        let first = trip.records().first().map_or(0, |record| record.mono_ns);
        let start_ns = starts.min().unwrap_or(i128::from(first));
        let mut offsets: Vec<i128> = trip
            .records()
            .iter()
            .filter_map(|record| match &record.event {
                Event::TimeFix {
                    utc, valid: true, ..
                } => {
                    let utc = DateTime::parse_from_rfc3339(utc).ok()?;
                    let ns = i128::from(utc.timestamp()) * 1_000_000_000
                        + i128::from(utc.timestamp_subsec_nanos());
                    Some(ns - i128::from(record.mono_ns))
                }
                _ => None,
            })
            .collect();
        offsets.sort_unstable();
        let offset_ns = offsets.get(offsets.len() / 2).copied();
        Self {
            rate,
            start_ns,
            offset_ns,
        }
    }

    /// UTC of a sample.
    pub fn at_sample(&self, sample: u64) -> TimeEstimate {
        self.at_mono(self.mono_of_sample(sample))
    }

    /// UTC of a monotonic time in nanoseconds.
    pub fn at_mono(&self, mono_ns: u64) -> TimeEstimate {
        let value = self.offset_ns.and_then(|offset| {
            let ns = i64::try_from(i128::from(mono_ns) + offset).ok()?;
            Some(DateTime::from_timestamp_nanos(ns))
        });
        TimeEstimate {
            uncertainty: value.map(|_| Duration::from_millis(500)),
            doubts: match value {
                Some(_) => Vec::new(),
                None => vec![UNKNOWN.into()],
            },
            value,
        }
    }

    /// Monotonic time in nanoseconds at which a sample was taken.
    pub fn mono_of_sample(&self, sample: u64) -> u64 {
        let ns = self.start_ns + (sample as f64 / self.rate * 1e9) as i128;
        u64::try_from(ns.max(0)).unwrap_or(u64::MAX)
    }

    /// The sample that was taken at a monotonic time; 0 before the first.
    pub fn sample_of_mono(&self, mono_ns: u64) -> u64 {
        let ns = i128::from(mono_ns) - self.start_ns;
        (ns.max(0) as f64 / 1e9 * self.rate) as u64
    }
}
