//! How much of a trip has audio.

use jumpseat_core::journal::{AudioDirection, JournalEvent};

use crate::{SegmentState, Trip};

/// Sample counts of a trip.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct AudioCoverage {
    /// The sample count after the last sample, lost ones included.
    pub end: u64,
    /// Receive samples that can be read.
    pub rx: u64,
    /// Transmit samples that can be read.
    pub tx: u64,
    /// Samples between 0 and `end` of which there is no audio.
    pub lost: u64,
}

/// Adds up a trip's segments. What lies between them, and what the journal
/// promises after the last one, is lost.
pub(crate) fn measure_coverage(trip: &Trip) -> AudioCoverage {
    let mut cover = AudioCoverage::default();
    let mut reached = 0;
    for segment in trip.segments() {
        cover.end = cover.end.max(segment.end());
        if segment.state == SegmentState::Missing {
            continue;
        }
        let sum = match segment.direction {
            AudioDirection::Rx => &mut cover.rx,
            AudioDirection::Tx => &mut cover.tx,
        };
        *sum = sum.saturating_add(segment.count);
        cover.lost += segment.first_sample.saturating_sub(reached);
        reached = reached.max(segment.end());
    }
    for record in trip.records() {
        match record.event {
            JournalEvent::Clock { sample } => cover.end = cover.end.max(sample),
            JournalEvent::Gap {
                first_sample,
                count,
                ..
            } => cover.end = cover.end.max(first_sample + count),
            _ => {}
        }
    }
    cover.lost += cover.end.saturating_sub(reached);
    cover
}
