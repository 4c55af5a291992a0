//! Boards with a sound source of their own, and what they recorded.

use std::path::Path;
use std::time::Instant;

use jumpseat_core::journal::AudioDirection;
use jumpseat_tests::board::TestBoard;
use jumpseat_tests::parts::SoundFifo;
use jumpseat_trip::{AudioSegment, SegmentState, Trip};

/// A board with a feed that receives these frames from now on, at 16 kHz; after the last
/// one its sound device is stuck.
pub(crate) fn board_with_sound(frames: Vec<[i16; 2]>) -> (TestBoard, SoundFifo) {
    board_with_sound_at(16_000, frames)
}

/// The same at another rate.
pub(crate) fn board_with_sound_at(rate: u32, frames: Vec<[i16; 2]>) -> (TestBoard, SoundFifo) {
    let board = TestBoard::new().unwrap().with_feed();
    let sound = play(board.folder(), rate, frames);
    (board.with_sound(&sound), sound)
}

/// A board with a feed whose sound device is missing.
pub(crate) fn board_without_sound() -> TestBoard {
    let board = TestBoard::new().unwrap().with_feed();
    board.with("sound = { device = \"none\" }")
}

/// A pipe in this folder that delivers these frames from now on and then sticks.
pub(crate) fn play(folder: &Path, rate: u32, frames: Vec<[i16; 2]>) -> SoundFifo {
    let pipe = SoundFifo::make(folder).unwrap();
    let mut sound = pipe.at_rate(rate).sticking();
    sound.feed(Instant::now(), frames).unwrap();
    sound
}

/// This many seconds at 16 kHz of frames that no fault could reproduce: a fixed sequence of
/// pseudo-random values (xorshift32), a whole number of periods.
pub(crate) fn noise(seconds: usize) -> Vec<[i16; 2]> {
    let mut state = 0x1234_5678_u32;
    let mut next = move || {
        state ^= state << 13;
        state ^= state >> 17;
        state ^= state << 5;
        (state >> 16) as i16
    };
    (0..seconds * 16_000).map(|_| [next(), next()]).collect()
}

/// One audio file of a trip.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct RecordedFile {
    /// Which channel.
    pub(crate) direction: AudioDirection,
    /// Sample count of its first sample.
    pub(crate) first: u64,
    /// Its samples, as any player reads them: by the file's own header.
    pub(crate) samples: Vec<i16>,
    /// Whether the journal records that it was completed.
    pub(crate) closed: bool,
}

impl RecordedFile {
    /// Checks that every sample in it is the one that was played there, bit for bit.
    #[track_caller]
    pub(crate) fn check(&self, played: &[[i16; 2]]) {
        let channel = usize::from(self.direction == AudioDirection::Tx);
        for (number, &sample) in (self.first..).zip(&self.samples) {
            assert_eq!(sample, played[number as usize][channel], "sample {number}");
        }
    }
}

/// Checks that all that was played is in these files, in order and once, and that they were
/// completed.
#[track_caller]
pub(crate) fn check_whole(pieces: &[RecordedFile], played: &[[i16; 2]]) {
    let mut next = 0;
    for piece in pieces {
        assert!(piece.closed);
        assert_eq!(piece.first, next);
        piece.check(played);
        next += piece.samples.len() as u64;
    }
    assert_eq!(next, played.len() as u64);
}

/// The audio files of a trip in order.
pub(crate) fn pieces(trip: &Trip) -> Vec<RecordedFile> {
    trip.segments().iter().map(piece).collect()
}

fn piece(segment: &AudioSegment) -> RecordedFile {
    let mut wav = hound::WavReader::open(&segment.path).unwrap();
    let samples: Vec<i16> = wav.samples().collect::<Result<_, _>>().unwrap();
    let closed = segment.state == SegmentState::Closed;
    if closed {
        assert_eq!(segment.count, samples.len() as u64, "{segment:?}");
    }
    RecordedFile {
        direction: segment.direction,
        first: segment.first_sample,
        samples,
        closed,
    }
}
