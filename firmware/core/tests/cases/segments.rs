//! Where the key cuts the sound.

use heapless::Vec;
use jumpseat_core::AudioFrame;
use jumpseat_core::segmenter::{MAX_SEGMENT, Segmenter, SegmenterStep};

const EDGE: u64 = 5_000;
const END: u64 = 9_000;

/// When the edge is reported (before its samples, while they are held, too late), and where
/// it cuts.
const CASES: [(u64, u64); 4] = [
    (0, EDGE),
    (5_500, EDGE),
    (6_600, EDGE),
    // Only 1,600 samples are held back.
    (7_000, 5_400),
];

/// Samples of the receive channel count up, those of the transmit channel down.
fn feed(segmenter: &mut Segmenter, samples: core::ops::Range<u64>, files: &mut CutFiles) {
    for n in samples {
        let frame = AudioFrame {
            rx: n as i16,
            tx: -1 - n as i16,
        };
        segmenter.audio(&[frame], |step| files.step(&step));
    }
}

#[derive(Default)]
struct CutFiles {
    /// First sample and count of each, in order.
    spans: Vec<(u64, u64), 4>,
    first: Option<i16>,
}

impl CutFiles {
    fn step(&mut self, step: &SegmenterStep<'_>) {
        match step {
            SegmenterStep::Open(_) => self.first = None,
            SegmenterStep::Write(samples) => self.first = self.first.or(samples.first().copied()),
            SegmenterStep::Close(segment) => {
                let span = (segment.first_sample, segment.count);
                assert_eq!(self.spans.push(span), Ok(()));
            }
        }
    }
}

pub(super) fn all() -> usize {
    for (told_at, cut) in CASES {
        let mut files = CutFiles::default();
        let mut segmenter = Segmenter::new(false, 1_600, MAX_SEGMENT);
        feed(&mut segmenter, 0..told_at, &mut files);
        segmenter.edge(true, EDGE);
        feed(&mut segmenter, told_at..END, &mut files);
        segmenter.finish(|step| files.step(&step));
        assert_eq!(files.spans.as_slice(), [(0, cut), (cut, END - cut)]);
        assert_eq!(files.first, Some(-1 - cut as i16));
    }
    CASES.len()
}
