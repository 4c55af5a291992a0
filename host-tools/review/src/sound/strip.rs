//! Cuts the overs of an entry into strips that fit on a page.

use jumpseat_entries::Draft;
use jumpseat_trip::AudioDirection;

/// Sound before the entry's first over and after its last one.
const MARGIN_S: f64 = 2.0;
/// A longer over continues in the next strip.
const LONGEST_STRIP_S: f64 = 30.0;

/// One over of an entry, or a part of a long one.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct SoundStrip {
    pub(crate) sent: bool,
    /// The index of its over in the draft.
    pub(crate) over: usize,
    /// It continues the over of the previous strip.
    pub(crate) goes_on: bool,
    pub(crate) from_s: f64,
    pub(crate) to_s: f64,
    /// In samples of the trip.
    pub(crate) first: u64,
    pub(crate) count: u64,
}

impl SoundStrip {
    pub(crate) fn direction(&self) -> AudioDirection {
        if self.sent {
            AudioDirection::Tx
        } else {
            AudioDirection::Rx
        }
    }
}

/// The strips of a draft, in order of time: its overs within its own time and a
/// little around it.
pub(crate) fn strips(draft: &Draft, rate: f64) -> Vec<SoundStrip> {
    let (begins, ends) = (draft.on_s - MARGIN_S, draft.off_s + MARGIN_S);
    let mut strips = Vec::new();
    for (index, over) in draft.overs.iter().enumerate() {
        let (from, to) = (over.start_s.max(begins), over.end_s.min(ends));
        let pieces = ((to - from) / LONGEST_STRIP_S).ceil().clamp(0.0, 1e4);
        let each = (to - from) / pieces.max(1.0);
        for piece in 0..pieces as u32 {
            let from_s = from + each * f64::from(piece);
            let to_s = from_s + each;
            let sample = |seconds: f64| (seconds.max(0.0) * rate).round() as u64;
            let count = sample(to_s).saturating_sub(sample(from_s));
            if count == 0 {
                continue;
            }
            strips.push(SoundStrip {
                sent: over.direction == "tx",
                over: index,
                goes_on: piece > 0,
                from_s,
                to_s,
                first: sample(from_s),
                count,
            });
        }
    }
    strips
}
