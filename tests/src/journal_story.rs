//! What a trip's journal tells, as tests ask for it.

use jumpseat_core::journal::{JournalEvent, RecorderFault};
use jumpseat_trip::Trip;

/// Whether some record fits.
pub fn has(trip: &Trip, fits: impl Fn(&JournalEvent) -> bool) -> bool {
    trip.records().iter().any(|record| fits(&record.event))
}

/// When this was written, in nanoseconds of the monotonic clock.
pub fn times(trip: &Trip, wanted: &JournalEvent) -> Vec<u64> {
    let records = trip.records().iter();
    let found = records.filter(|record| record.event == *wanted);
    found.map(|record| record.mono_ns).collect()
}

/// What happened to an input: `f` for each fault of it, `r` for each recovery.
pub fn story(trip: &Trip, wanted: RecorderFault) -> String {
    let told = |event: &JournalEvent| match event {
        JournalEvent::Fault { fault, .. } if *fault == wanted => Some('f'),
        JournalEvent::Recovery { fault, .. } if *fault == wanted => Some('r'),
        _ => None,
    };
    let records = trip.records().iter();
    records.filter_map(|record| told(&record.event)).collect()
}
