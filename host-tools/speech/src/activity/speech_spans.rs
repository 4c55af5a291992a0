//! From frames to stretches of speech.

use std::collections::VecDeque;

use super::modulation::ModulationDepth;
use super::spectrum::{HOP_SAMPLES, SAMPLE_RATE};

/// A stretch of speech, in seconds since the start of the over.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpeechStretch {
    /// Where it begins.
    pub start_s: f64,
    /// Where it ends.
    pub end_s: f64,
}

/// Movement at which speech is taken to have begun. Measured: in steady noise
/// one frame in a thousand has 0.37 and 0.91 dB or more; Morse is at most 0.3
/// even, speech in noise of its own power half even.
const SPEECH_BEGINS: ModulationDepth = ModulationDepth {
    whole: 0.42,
    third: 0.8,
    even: 0.36,
};
/// Evenness below which speech is taken to have ended.
const SPEECH_END_EVENNESS: f32 = 0.28;
/// Movement of the whole in dB below which speech is taken to have ended.
const SPEECH_END_DB: f32 = 0.36;
/// A smoothed frame this much above the floor, in dB, is loud.
const LOUD_DB: f32 = 1.4;
/// Share of a new frame in the smoothed loudness: a time constant of 40 ms.
const LOUDNESS_SMOOTHING: f32 = 0.4;
/// At least this share of a stretch is loud; that of static crashes is not.
const LOUD_SHARE: f64 = 0.33;
/// Movement is known only after some syllables: this many frames are looked
/// back to find where they began. 0.8 s.
const LOOK_BACK: usize = 50;
/// Loud frames no further apart than this belong together. 0.4 s.
const LONGEST_PAUSE_FRAMES: u64 = 25;
/// A stretch shorter than this is no speech. 0.3 s.
const SHORTEST_SPEECH_FRAMES: u64 = 20;

/// Frames from the first loud one to the last.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct SpeechFrames {
    first: u64,
    last: u64,
    loud: u64,
}

impl ModulationDepth {
    fn began(self) -> bool {
        self.whole >= SPEECH_BEGINS.whole
            && self.third >= SPEECH_BEGINS.third
            && self.even >= SPEECH_BEGINS.even
    }
}

/// Collects frames into stretches.
pub(super) struct StretchCollector {
    loudness: f32,
    loud: VecDeque<u64>,
    open: Option<SpeechFrames>,
    done: Vec<SpeechFrames>,
}

impl StretchCollector {
    pub(super) fn new() -> Self {
        Self {
            loudness: 0.0,
            loud: VecDeque::with_capacity(LOOK_BACK),
            open: None,
            done: Vec::new(),
        }
    }

    pub(super) fn judge(&mut self, frame: u64, loudness: f32, depth: ModulationDepth) {
        self.loudness += LOUDNESS_SMOOTHING * (loudness - self.loudness);
        let loud = self.loudness >= LOUD_DB;
        if loud {
            if self.loud.len() == LOOK_BACK {
                self.loud.pop_front();
            }
            self.loud.push_back(frame);
        }
        match &mut self.open {
            None if depth.began() => {
                self.open = self.began(frame);
            }
            None => {}
            Some(open) => {
                if loud {
                    open.last = frame;
                    open.loud += 1;
                }
                if depth.whole < SPEECH_END_DB
                    || depth.even < SPEECH_END_EVENNESS
                    || frame - open.last > LONGEST_PAUSE_FRAMES
                {
                    self.close();
                }
            }
        }
    }

    /// The loud frames that lead up to this one without a pause.
    fn began(&self, frame: u64) -> Option<SpeechFrames> {
        let last = *self.loud.back()?;
        if frame - last > LONGEST_PAUSE_FRAMES {
            return None;
        }
        let mut frames = SpeechFrames {
            first: last,
            last,
            loud: 0,
        };
        for &loud in self.loud.iter().rev() {
            let taken = self.done.last().is_some_and(|done| loud <= done.last);
            if taken
                || frames.first - loud > LONGEST_PAUSE_FRAMES
                || frame - loud > LOOK_BACK as u64
            {
                break;
            }
            frames.first = loud;
            frames.loud += 1;
        }
        (frames.loud > 0).then_some(frames)
    }

    fn close(&mut self) {
        let Some(open) = self.open.take() else {
            return;
        };
        match self.done.last_mut() {
            Some(done) if open.first - done.last <= LONGEST_PAUSE_FRAMES => {
                done.last = open.last;
                done.loud += open.loud;
            }
            _ => self.done.push(open),
        }
    }

    pub(super) fn finish(mut self, length_s: f64) -> Vec<SpeechStretch> {
        self.close();
        let seconds = |frame: u64| (frame * HOP_SAMPLES as u64) as f64 / f64::from(SAMPLE_RATE);
        self.done
            .iter()
            .filter(|frames| {
                let length = frames.last - frames.first;
                length >= SHORTEST_SPEECH_FRAMES && frames.loud as f64 >= LOUD_SHARE * length as f64
            })
            .map(|frames| SpeechStretch {
                start_s: seconds(frames.first),
                end_s: seconds(frames.last + 1).min(length_s),
            })
            .collect()
    }
}
