//! The rig's dial: which setting was in force when.

use std::time::Duration;

use jumpseat_core::journal::{JournalEvent, RecorderFault};
use jumpseat_values::{DialDoubt, DialSetting, Estimate};

use crate::Trip;

/// A setting, and when it was first seen.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct DialReading {
    /// Monotonic time of the first reading with it.
    pub mono_ns: u64,
    /// The setting.
    pub setting: DialSetting,
}

/// At the start of a trip rig control answers within this time.
const FIRST_READING_WITHIN: Duration = Duration::from_secs(5);

/// Every reading of the dial in a trip.
#[derive(Debug, Clone)]
pub struct DialHistory {
    readings: Vec<DialReading>,
    /// When rig control was lost (true) or back (false).
    outages: Vec<(u64, bool)>,
    max_age: Duration,
}

impl DialHistory {
    /// A reading older than this raises a doubt. The recorder repeats the dial
    /// every 60 s, so three minutes mean that readings are missing.
    pub const MAX_AGE: Duration = Duration::from_secs(180);

    /// The dial of a trip, with [`DialHistory::MAX_AGE`].
    pub fn of(trip: &Trip) -> Self {
        Self::with_max_age(trip, Self::MAX_AGE)
    }

    /// The dial of a trip; readings older than `max_age` raise a doubt.
    pub fn with_max_age(trip: &Trip, max_age: Duration) -> Self {
        let mut readings = Vec::new();
        let mut outages = Vec::new();
        for record in trip.records() {
            match &record.event {
                JournalEvent::Dial { hz, mode } if *hz > 0 => readings.push(DialReading {
                    mono_ns: record.mono_ns,
                    setting: DialSetting {
                        hz: *hz,
                        mode: mode.as_str().to_owned(),
                    },
                }),
                JournalEvent::Fault {
                    fault: RecorderFault::Dial,
                    ..
                } => outages.push((record.mono_ns, true)),
                JournalEvent::Recovery {
                    fault: RecorderFault::Dial,
                    ..
                } => outages.push((record.mono_ns, false)),
                _ => {}
            }
        }
        readings.sort_by_key(|reading| reading.mono_ns);
        outages.sort_by_key(|outage| outage.0);
        Self {
            readings,
            outages,
            max_age,
        }
    }

    /// The settings in order, without the repeats.
    pub fn changes(&self) -> Vec<DialReading> {
        let mut changes = self.readings.clone();
        changes.dedup_by(|later, earlier| later.setting == earlier.setting);
        changes
    }

    /// The setting in force at a monotonic time. Before the first reading the
    /// first one is given, if it came within the age limit.
    pub fn at_mono(&self, mono_ns: u64) -> Estimate<DialSetting> {
        let after = self
            .readings
            .partition_point(|reading| reading.mono_ns <= mono_ns);
        let mut doubts = Vec::new();
        let Some(reading) = after.checked_sub(1).and_then(|at| self.readings.get(at)) else {
            return self.before_the_first(mono_ns);
        };
        let age = Duration::from_nanos(mono_ns - reading.mono_ns);
        if age > self.max_age {
            let age_s = age.as_secs();
            doubts.push(DialDoubt::OldReading { age_s }.into());
        }
        if self.lost_since(reading.mono_ns, mono_ns) {
            doubts.push(DialDoubt::LostSince.into());
        }
        Estimate::new(Some(reading.setting.clone()), doubts)
    }

    fn before_the_first(&self, mono_ns: u64) -> Estimate<DialSetting> {
        let Some(first) = self.readings.first() else {
            return Estimate::unknown(DialDoubt::NeverRead);
        };
        let wait = Duration::from_nanos(first.mono_ns.saturating_sub(mono_ns));
        let mut doubts = Vec::new();
        if wait > FIRST_READING_WITHIN {
            let wait_s = wait.as_secs();
            doubts.push(DialDoubt::ReadLater { wait_s }.into());
        }
        let value = (wait <= self.max_age).then(|| first.setting.clone());
        Estimate::new(value, doubts)
    }

    fn lost_since(&self, reading: u64, now: u64) -> bool {
        self.outages
            .iter()
            .rfind(|(at, _)| *at <= now)
            .is_some_and(|&(at, lost)| lost && at >= reading)
    }
}
