//! A trip's samples: by segment, or by sample count across segments.

use jumpseat_core::journal::AudioDirection;

use crate::{SegmentState, Trip, TripError, sound_file};

/// The most samples given at once: an hour at 48 kHz.
const MOST_SPAN_SAMPLES: u64 = 48_000 * 3_600;

/// A stretch of sample counts without audio.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct LostSamples {
    /// Sample count of its first sample.
    pub first_sample: u64,
    /// Samples.
    pub count: u64,
}

/// Samples of a stretch of sample counts, always as many as were asked for: lost ones are
/// silence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SampleSpan {
    /// As many as were asked for, full scale ±32768.
    pub samples: Vec<i16>,
    /// Where they are silence because no audio of that direction is there.
    pub lost: Vec<LostSamples>,
}

impl Trip {
    /// The samples of one segment; of a salvaged one what is there.
    pub fn read_segment(&self, number: u32) -> Result<Vec<i16>, TripError> {
        let segment = self
            .segments()
            .iter()
            .find(|segment| segment.number == number)
            .ok_or_else(|| TripError::NoSegment {
                trip: self.dir().to_owned(),
                number,
            })?;
        if segment.state == SegmentState::Missing {
            return Err(TripError::SegmentMissing {
                path: segment.path.clone(),
            });
        }
        sound_file::read(&segment.path, segment.count)
    }

    /// `count` samples of one direction from sample count `first_sample` on, at
    /// most an hour at 48 kHz. What is not there, or lies in a file that cannot be
    /// read, is silence, and is listed; [`health`](crate::health()) says why.
    pub fn read_span(
        &self,
        direction: AudioDirection,
        first_sample: u64,
        count: u64,
    ) -> Result<SampleSpan, TripError> {
        let too_long = || TripError::SpanTooLong {
            count,
            limit: MOST_SPAN_SAMPLES,
        };
        if count > MOST_SPAN_SAMPLES {
            return Err(too_long());
        }
        let length = usize::try_from(count).map_err(|_| too_long())?;
        let end = first_sample.saturating_add(count);
        let mut samples = vec![0_i16; length];
        let mut lost = Vec::new();
        let mut reached = first_sample;
        for segment in self.segments() {
            if segment.direction != direction
                || segment.state == SegmentState::Missing
                || segment.end() <= reached
                || segment.first_sample >= end
            {
                continue;
            }
            let from = segment.first_sample.max(reached);
            let skip = from - segment.first_sample;
            let wanted = segment.end().min(end).saturating_sub(from);
            let audio = sound_file::read_from(&segment.path, skip, wanted, segment.count);
            let audio = audio.unwrap_or_default();
            if audio.is_empty() {
                continue;
            }
            note_lost(&mut lost, reached, from);
            // Within `length`, which is a usize.
            let at = (from - first_sample) as usize;
            samples[at..at + audio.len()].copy_from_slice(&audio);
            let to = from + audio.len() as u64;
            reached = to;
        }
        note_lost(&mut lost, reached, end);
        Ok(SampleSpan { samples, lost })
    }
}

fn note_lost(lost: &mut Vec<LostSamples>, from: u64, to: u64) {
    if to > from {
        lost.push(LostSamples {
            first_sample: from,
            count: to - from,
        });
    }
}
