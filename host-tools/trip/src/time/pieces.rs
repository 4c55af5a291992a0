//! From the journal to the pieces of the sample count.

use jumpseat_core::journal::{JournalEvent, JournalRecord};

use super::sample_clock::{SampleClockPair, SamplePiece};
use crate::AudioSegment;

/// Cuts the sample count of a trip where sound was lost, and gives each piece its
/// clock pairs. Losses are known from their records and, should these be
/// damaged, from segments that do not follow each other. Monotonic seconds are
/// counted from `reference_ns`.
pub(crate) fn pieces(
    records: &[JournalRecord],
    segments: &[AudioSegment],
    reference_ns: u64,
) -> Vec<SamplePiece> {
    let mut pairs = Vec::new();
    let mut losses = Vec::new();
    let mut end = 0;
    for record in records {
        match record.event {
            JournalEvent::Clock { sample } => {
                pairs.push((sample, record.mono_ns));
                end = end.max(sample);
            }
            JournalEvent::Gap {
                first_sample,
                count,
                ..
            } => {
                losses.push((first_sample, first_sample + count));
                end = end.max(first_sample + count);
            }
            _ => {}
        }
    }
    for pair in segments.windows(2) {
        if pair[0].end() < pair[1].first_sample {
            losses.push((pair[0].end(), pair[1].first_sample));
        }
    }
    for segment in segments {
        end = end.max(segment.end());
    }
    pairs.sort_unstable();
    pairs.dedup_by_key(|pair| pair.0);
    losses.sort_unstable();
    let mut pieces = Vec::new();
    let mut from = 0;
    for (first, after) in losses {
        if first > from {
            pieces.push(piece(&pairs, from, first, reference_ns));
        }
        from = from.max(after);
    }
    if end > from || pieces.is_empty() {
        pieces.push(piece(&pairs, from, end, reference_ns));
    }
    pieces
}

/// A pair belongs to the piece in which its last sample lies. `pairs` are ascending.
fn piece(pairs: &[(u64, u64)], from: u64, to: u64, reference_ns: u64) -> SamplePiece {
    let first = match from {
        0 => 0,
        _ => pairs.partition_point(|(sample, _)| *sample <= from),
    };
    let after = pairs.partition_point(|(sample, _)| *sample <= to);
    SamplePiece {
        from: from as f64,
        to: to as f64,
        pairs: pairs
            .get(first..after)
            .unwrap_or_default()
            .iter()
            .map(|&(sample, mono_ns)| SampleClockPair {
                sample: sample as f64,
                seconds: (i128::from(mono_ns) - i128::from(reference_ns)) as f64 / 1e9,
            })
            .collect(),
    }
}
