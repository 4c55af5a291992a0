//! Divides the samples among audio files at the key edges.
//!
//! While the key is up the receive channel is kept, while it is down the
//! transmit channel. The cut is at the sample of the true key edge. An edge is
//! known only after it has settled, so the newest samples are held back for a
//! moment and an edge may still fall among them.

use heapless::Deque;

use crate::AudioFrame;
use crate::journal::AudioDirection;

/// Samples held back by default: 100 ms.
pub const DEFAULT_HOLD: usize = 1_600;
/// Most samples that can be held back.
pub const MAX_HOLD: usize = 3_072;
/// Longest segment in samples: five minutes.
pub const MAX_SEGMENT: u64 = 300 * crate::SAMPLE_RATE as u64;

const HELD_CAPACITY: usize = 4_096;
const MAX_PART: usize = HELD_CAPACITY - MAX_HOLD;
/// Most edges that can wait for their samples: more than a voice-operated key makes in the
/// longest time that the card may block the caller.
const MAX_EDGES: usize = 256;

/// An audio file to be written: a run of samples without a gap.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct KeyedSegment {
    /// Number in the file's name, from 1.
    pub number: u32,
    /// Which channel it holds.
    pub direction: AudioDirection,
    /// Sample count of its first sample.
    pub first_sample: u64,
    /// Samples in it so far.
    pub count: u64,
}

/// What the caller must do next with its files.
#[derive(Debug, PartialEq, Eq)]
pub enum SegmenterStep<'a> {
    /// Create the file.
    Open(KeyedSegment),
    /// Append to the open file; at most 256 samples.
    Write(&'a [i16]),
    /// Complete the file.
    Close(KeyedSegment),
}

/// The state machine.
#[derive(Debug)]
pub struct Segmenter {
    held: Deque<AudioFrame, HELD_CAPACITY>,
    edges: Deque<KeyEdge, MAX_EDGES>,
    hold: usize,
    max_segment: u64,
    /// Sample count of the first held sample: all before it are written.
    released: u64,
    direction: AudioDirection,
    open: Option<KeyedSegment>,
    next_number: u32,
}

#[derive(Debug, Clone, Copy)]
struct KeyEdge {
    sample: u64,
    direction: AudioDirection,
}

impl Segmenter {
    /// Starts at sample 0 with the key in the given state. `hold` is in samples, at most
    /// [`MAX_HOLD`]; `max_segment` in samples, at least 1.
    pub fn new(keyed: bool, hold: usize, max_segment: u64) -> Self {
        Self {
            held: Deque::new(),
            edges: Deque::new(),
            hold: hold.min(MAX_HOLD),
            max_segment: max_segment.max(1),
            released: 0,
            direction: direction(keyed),
            open: None,
            next_number: 1,
        }
    }

    /// Samples that have arrived, including lost ones.
    pub fn arrived(&self) -> u64 {
        self.released + self.held.len() as u64
    }

    /// The segment being written, if one is open.
    pub const fn open_segment(&self) -> Option<KeyedSegment> {
        self.open
    }

    /// The key changed at this sample. Edges come in order of time and may lie ahead of the
    /// samples or among those held back; an older edge cuts at the oldest held sample.
    pub fn edge(&mut self, keyed: bool, sample: u64) {
        let edge = KeyEdge {
            sample,
            direction: direction(keyed),
        };
        if self.edges.push_back(edge).is_err() {
            // So many can wait only while no samples arrive or none are passed on. The
            // newest two cancel each other, so both are dropped.
            self.edges.pop_back();
        }
    }

    /// Takes the next samples.
    pub fn audio(&mut self, frames: &[AudioFrame], mut step: impl FnMut(SegmenterStep<'_>)) {
        for part in frames.chunks(MAX_PART) {
            for &frame in part {
                // It fits: at most `hold` samples are left from before.
                if self.held.push_back(frame).is_err() {
                    break;
                }
            }
            let ready = self.held.len().saturating_sub(self.hold);
            self.release(ready, &mut step);
        }
    }

    /// `count` samples were lost after the last one that arrived. The segment ends before
    /// the gap, and another begins after it.
    pub fn gap(&mut self, count: u64, mut step: impl FnMut(SegmenterStep<'_>)) {
        self.finish(&mut step);
        self.released += count;
    }

    /// Writes what is held back and completes the open segment. Samples that follow begin a
    /// new one.
    pub fn finish(&mut self, mut step: impl FnMut(SegmenterStep<'_>)) {
        self.release(self.held.len(), &mut step);
        self.close(&mut step);
    }

    /// Completes the open file; the next sample begins another.
    pub fn cut(&mut self, mut step: impl FnMut(SegmenterStep<'_>)) {
        self.close(&mut step);
    }

    fn release(&mut self, mut count: usize, step: &mut impl FnMut(SegmenterStep<'_>)) {
        let mut run = [0_i16; 256];
        while count > 0 {
            self.turn(step);
            let segment = match self.open {
                Some(segment) => segment,
                None => self.begin(step),
            };
            let until_full = self.max_segment - segment.count;
            let until_edge = self
                .edges
                .front()
                .map_or(u64::MAX, |edge| edge.sample - self.released);
            let length = (count.min(run.len()) as u64)
                .min(until_full)
                .min(until_edge) as usize;
            let mut taken = 0;
            for (slot, frame) in run
                .iter_mut()
                .zip(core::iter::from_fn(|| self.held.pop_front()).take(length))
            {
                *slot = match self.direction {
                    AudioDirection::Rx => frame.rx,
                    AudioDirection::Tx => frame.tx,
                };
                taken += 1;
            }
            step(SegmenterStep::Write(&run[..taken]));
            self.released += taken as u64;
            count -= taken;
            let count_now = segment.count + taken as u64;
            self.open = Some(KeyedSegment {
                count: count_now,
                ..segment
            });
            if count_now >= self.max_segment {
                self.close(step);
            }
        }
    }

    /// Applies the edges that are due at the next sample to be written.
    fn turn(&mut self, step: &mut impl FnMut(SegmenterStep<'_>)) {
        while let Some(&edge) = self.edges.front() {
            if edge.sample > self.released {
                break;
            }
            self.edges.pop_front();
            if edge.direction != self.direction {
                self.close(step);
                self.direction = edge.direction;
            }
        }
    }

    fn begin(&mut self, step: &mut impl FnMut(SegmenterStep<'_>)) -> KeyedSegment {
        let segment = KeyedSegment {
            number: self.next_number,
            direction: self.direction,
            first_sample: self.released,
            count: 0,
        };
        self.next_number = self.next_number.saturating_add(1);
        step(SegmenterStep::Open(segment));
        segment
    }

    fn close(&mut self, step: &mut impl FnMut(SegmenterStep<'_>)) {
        if let Some(segment) = self.open.take() {
            step(SegmenterStep::Close(segment));
        }
    }
}

const fn direction(keyed: bool) -> AudioDirection {
    if keyed {
        AudioDirection::Tx
    } else {
        AudioDirection::Rx
    }
}

#[cfg(test)]
mod tests {
    extern crate std;

    use std::vec::Vec;

    use proptest::prelude::*;

    use super::*;

    /// The files as written: the segment of each, and its samples.
    #[derive(Default)]
    struct SegmentedFiles {
        open: Vec<i16>,
        closed: Vec<(KeyedSegment, Vec<i16>)>,
    }

    impl SegmentedFiles {
        fn step(&mut self, step: SegmenterStep<'_>) {
            match step {
                SegmenterStep::Open(segment) => {
                    assert!(self.open.is_empty() && segment.count == 0);
                    assert_eq!(segment.number as usize, self.closed.len() + 1);
                }
                SegmenterStep::Write(samples) => self.open.extend(samples),
                SegmenterStep::Close(segment) => {
                    self.closed.push((segment, core::mem::take(&mut self.open)))
                }
            }
        }

        fn spans(&self) -> Vec<(AudioDirection, u64, u64)> {
            self.closed
                .iter()
                .map(|(s, _)| (s.direction, s.first_sample, s.count))
                .collect()
        }
    }

    /// The receive channel counts up, the transmit channel counts down.
    fn frames(from: u64, count: u64) -> Vec<AudioFrame> {
        (from..from + count)
            .map(|n| AudioFrame {
                rx: n as i16,
                tx: -1 - n as i16,
            })
            .collect()
    }

    use AudioDirection::{Rx, Tx};

    #[test]
    fn five_minutes_at_most_and_a_hole_ends_a_segment() {
        let mut files = SegmentedFiles::default();
        let mut segmenter = Segmenter::new(true, 100, 1_000);
        segmenter.audio(&frames(0, 2_500), |s| files.step(s));
        segmenter.gap(400, |s| files.step(s));
        assert_eq!(segmenter.arrived(), 2_900);
        segmenter.edge(false, 2_700);
        segmenter.audio(&frames(2_900, 50), |s| files.step(s));
        segmenter.finish(|s| files.step(s));
        let spans = [
            (Tx, 0, 1_000),
            (Tx, 1_000, 1_000),
            (Tx, 2_000, 500),
            (Rx, 2_900, 50),
        ];
        assert_eq!(files.spans(), spans);
    }

    #[test]
    fn two_hundred_edges_wait_for_their_samples() {
        let mut files = SegmentedFiles::default();
        let mut segmenter = Segmenter::new(false, 100, MAX_SEGMENT);
        for n in 0..200 {
            segmenter.edge(n % 2 == 0, 50 + n * 50);
        }
        segmenter.audio(&frames(0, 10_100), |s| files.step(s));
        segmenter.finish(|s| files.step(s));
        let spans: Vec<_> = (0..201)
            .map(|n| (if n % 2 == 0 { Rx } else { Tx }, n * 50, 50))
            .collect();
        let last = files.spans().pop().unwrap();
        assert_eq!(last, (Rx, 10_000, 100));
        assert_eq!(files.spans()[..200], spans[..200]);
    }

    #[test]
    fn edges_without_samples_keep_the_last_state() {
        let mut files = SegmentedFiles::default();
        let mut segmenter = Segmenter::new(false, 100, MAX_SEGMENT);
        for n in 0..1_001 {
            segmenter.edge(n % 2 == 0, 10 + n);
        }
        segmenter.gap(5_000, |s| files.step(s));
        segmenter.audio(&frames(5_000, 10), |s| files.step(s));
        segmenter.finish(|s| files.step(s));
        assert_eq!(files.spans(), [(Tx, 5_000, 10)]);
    }

    proptest! {
        /// For any blocks and edges: every sample is in exactly one file, in order, and
        /// that file has the direction that the key had at that sample.
        #[test]
        fn every_sample_goes_to_one_place_by_the_key(
            blocks in prop::collection::vec(0_u64..3_000, 1..20),
            mut cuts in prop::collection::vec(0_u64..20_000, 0..20),
            max_segment in 500_u64..5_000,
        ) {
            cuts.sort_unstable();
            cuts.dedup();
            let mut files = SegmentedFiles::default();
            let mut segmenter = Segmenter::new(false, 1_600, max_segment);
            let mut told = 0;
            let mut at = 0;
            for block in blocks {
                segmenter.audio(&frames(at, block), |s| files.step(s));
                at += block;
                // An edge is reported at most 100 ms after its sample arrived.
                while told < cuts.len() && cuts[told] < at + 1 {
                    segmenter.edge(told % 2 == 0, cuts[told].max(at.saturating_sub(1_600)));
                    cuts[told] = cuts[told].max(at.saturating_sub(1_600));
                    told += 1;
                }
            }
            segmenter.finish(|s| files.step(s));
            let mut n = 0;
            for (segment, samples) in &files.closed {
                prop_assert_eq!(segment.first_sample, n);
                prop_assert_eq!(segment.count, samples.len() as u64);
                prop_assert!(segment.count >= 1 && segment.count <= max_segment);
                for &sample in samples {
                    let keyed = cuts[..told].iter().filter(|&&cut| cut <= n).count() % 2 == 1;
                    let expected = if keyed { -1 - n as i16 } else { n as i16 };
                    prop_assert_eq!(sample, expected, "sample {}", n);
                    n += 1;
                }
            }
            prop_assert_eq!(n, at);
        }
    }
}
