//! Overs: neighbouring segments of one direction, joined.

use std::collections::BTreeSet;

use jumpseat_core::journal::{AudioDirection, JournalEvent};

use crate::{AudioSegment, LostSamples, SegmentState, Trip};

/// One turn: from one key edge to the next.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Over {
    /// Which way the audio went.
    pub direction: AudioDirection,
    /// Sample count of its first sample.
    pub first_sample: u64,
    /// Samples from its first to its last, those that were lost included.
    pub count: u64,
    /// Numbers of its segments, in order.
    pub segments: Vec<u32>,
    /// The parts of it of which there is no audio.
    pub lost: Vec<LostSamples>,
}

impl Over {
    /// The sample count after its last sample.
    pub fn end(&self) -> u64 {
        self.first_sample.saturating_add(self.count)
    }

    fn of(segment: &AudioSegment) -> Self {
        let mut over = Self {
            direction: segment.direction,
            first_sample: segment.first_sample,
            count: segment.count,
            segments: vec![segment.number],
            lost: Vec::new(),
        };
        over.note_missing(segment);
        over
    }

    fn note_missing(&mut self, segment: &AudioSegment) {
        if segment.state == SegmentState::Missing && segment.count > 0 {
            self.lost.push(LostSamples {
                first_sample: segment.first_sample,
                count: segment.count,
            });
        }
    }

    fn join(&mut self, segment: &AudioSegment) {
        let end = self.end();
        if segment.first_sample > end {
            self.lost.push(LostSamples {
                first_sample: end,
                count: segment.first_sample - end,
            });
        }
        self.note_missing(segment);
        self.count = end.max(segment.end()) - self.first_sample;
        self.segments.push(segment.number);
    }
}

impl Trip {
    /// The overs of the trip in the order of their first samples.
    ///
    /// Segments of one direction that follow each other are one over: the five
    /// minutes of a file, or a gap in the sound, do not end a turn. Where a key
    /// edge was journalled between the two files, they are two overs.
    pub fn overs(&self) -> Vec<Over> {
        let keyed = self.segments_after_an_edge();
        let mut overs: Vec<Over> = Vec::new();
        for segment in self.segments() {
            match overs.last_mut() {
                Some(over)
                    if over.direction == segment.direction
                        && !(segment.first_sample > over.end()
                            && keyed.contains(&segment.number)) =>
                {
                    over.join(segment);
                }
                _ => overs.push(Over::of(segment)),
            }
        }
        overs
    }

    /// Segments before whose opening the key moved since the opening before.
    fn segments_after_an_edge(&self) -> BTreeSet<u32> {
        let mut numbers = BTreeSet::new();
        let mut moved = false;
        for record in self.records() {
            match record.event {
                JournalEvent::Ptt { .. } => moved = true,
                JournalEvent::SegmentOpened { segment, .. } => {
                    if moved {
                        numbers.insert(segment);
                    }
                    moved = false;
                }
                _ => {}
            }
        }
        numbers
    }
}
