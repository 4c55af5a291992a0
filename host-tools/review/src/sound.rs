//! Sound to play and pictures of it, computed from the trip on request. Nothing here
//! changes the trip: sound is levelled and cleaned in memory.

mod clean;
mod level;
mod picture;
mod scale;
mod strip;
mod wav;

use std::sync::{Arc, Mutex, PoisonError};

use jumpseat_trip::AudioDirection;

pub(crate) use picture::{SoundPicture, prepare};
pub(crate) use scale::PICTURE_SCALE;
pub(crate) use strip::{SoundStrip, strips};

use crate::BackendError;
use crate::http::{ReviewReply, ReviewRequest};
use crate::open_trips::OpenTrip;

/// How a sound is played.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum SoundProcessing {
    /// As it was recorded.
    Raw,
    /// At the same loudness as all others.
    Level,
    /// Without most of the noise, at the same loudness as all others.
    Clean,
}

impl SoundProcessing {
    pub(crate) fn from_file_name(word: &str) -> Option<Self> {
        match word {
            "raw.wav" => Some(Self::Raw),
            "level.wav" => Some(Self::Level),
            "clean.wav" => Some(Self::Clean),
            _ => None,
        }
    }
}

/// A stretch of one direction, in samples.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct SoundPiece {
    pub(crate) trip: String,
    pub(crate) direction: AudioDirection,
    pub(crate) first: u64,
    pub(crate) count: u64,
}

/// The longest piece that is played at once: ten minutes at 48 kHz.
const LONGEST_PIECE_SAMPLES: u64 = 600 * 48_000;
/// The most bytes in one reply: half a minute at 16 kHz.
const MAX_RANGE_BYTES: u64 = 1 << 20;
/// Levelled and cleaned samples that stay in memory: 24 MB.
const MAX_CACHED_SAMPLES: usize = 12 << 20;

impl SoundPiece {
    /// The piece of an address such as "rx/16000-48000".
    pub(crate) fn parse(trip: &str, direction: &str, span: &str) -> Option<Self> {
        let direction = match direction {
            "rx" => AudioDirection::Rx,
            "tx" => AudioDirection::Tx,
            _ => return None,
        };
        let (first, end) = span.split_once('-')?;
        let first: u64 = first.parse().ok()?;
        let count = end.parse::<u64>().ok()?.checked_sub(first)?;
        (1..=LONGEST_PIECE_SAMPLES).contains(&count).then(|| Self {
            trip: trip.to_owned(),
            direction,
            first,
            count,
        })
    }

    fn samples(&self, open: &OpenTrip, skip: u64, count: u64) -> Result<Vec<i16>, BackendError> {
        let span = open
            .trip
            .read_span(self.direction, self.first.saturating_add(skip), count);
        Ok(span.map_err(BackendError::of)?.samples)
    }
}

type ProcessedSound = (SoundPiece, SoundProcessing, Arc<Vec<i16>>);

/// Levelled and cleaned sounds, the newest last.
#[derive(Debug, Default)]
pub(crate) struct SoundCache(Mutex<Vec<ProcessedSound>>);

impl SoundCache {
    /// A piece as a WAV file, or the stretch of it that is asked for.
    pub(crate) fn reply(
        &self,
        request: &ReviewRequest,
        open: &OpenTrip,
        piece: &SoundPiece,
        form: SoundProcessing,
    ) -> Result<ReviewReply, BackendError> {
        let rate = open.trip.header().audio.sample_rate;
        let length = wav::length(piece.count);
        let made = match form {
            SoundProcessing::Raw => None,
            _ => Some(self.made(open, piece, form, rate)?),
        };
        ReviewReply::byte_range(request, "audio/wav", length, MAX_RANGE_BYTES, |from, to| {
            wav::bytes(rate, piece.count, from, to, |skip, count| match &made {
                // Within the piece, whose length is a usize already.
                Some(samples) => {
                    let all = samples.iter().skip(skip as usize).take(count as usize);
                    Ok(all.copied().collect())
                }
                None => piece.samples(open, skip, count),
            })
        })
    }

    fn made(
        &self,
        open: &OpenTrip,
        piece: &SoundPiece,
        form: SoundProcessing,
        rate: u32,
    ) -> Result<Arc<Vec<i16>>, BackendError> {
        let lock = || self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let known = |(of, as_form, _): &ProcessedSound| of == piece && *as_form == form;
        if let Some((.., samples)) = lock().iter().find(|made| known(made)) {
            return Ok(Arc::clone(samples));
        }
        let raw = piece.samples(open, 0, piece.count)?;
        let samples = match form {
            SoundProcessing::Clean => level::level(&clean::clean(&raw, rate), rate),
            _ => level::level(&raw, rate),
        };
        let samples = Arc::new(samples);
        let mut kept = lock();
        kept.push((piece.clone(), form, Arc::clone(&samples)));
        let mut room = MAX_CACHED_SAMPLES;
        let mut fits = |(.., samples): &ProcessedSound| {
            room = room.saturating_sub(samples.len());
            room > 0
        };
        let many = kept.iter().rev().take_while(|made| fits(made)).count();
        let drop = kept.len() - many.max(1);
        kept.drain(..drop);
        Ok(samples)
    }
}

/// The piece of the trip that a strip shows.
pub(crate) fn piece_of(trip: &str, strip: &SoundStrip) -> SoundPiece {
    SoundPiece {
        trip: trip.to_owned(),
        direction: strip.direction(),
        first: strip.first,
        count: strip.count,
    }
}
