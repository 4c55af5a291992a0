//! Why a trip, or a part of it, cannot be read at all.

use std::io;
use std::path::PathBuf;

/// An error that leaves nothing to work with. Everything less is
/// [`TripDamage`](crate::TripDamage).
#[derive(Debug, thiserror::Error)]
pub enum TripError {
    /// Nothing at that path.
    #[error("{path}: no such folder; check the spelling, or mount the card first")]
    NoFolder {
        /// As given.
        path: PathBuf,
    },
    /// A file was given.
    #[error("{path}: this is a file; give the trip folder that holds it")]
    NotAFolder {
        /// As given.
        path: PathBuf,
    },
    /// The folder has nothing in it.
    #[error("{path}: the folder is empty; pull the trip from the board or its card again")]
    Empty {
        /// As given.
        path: PathBuf,
    },
    /// The folder holds neither a header nor a journal nor sound.
    #[error(
        "{path}: this is not a trip folder (no trip.json and no journal.jsonl in it); \
         a trip folder has a name such as trip-000017-3fa2c1"
    )]
    NotATrip {
        /// As given.
        path: PathBuf,
    },
    /// Neither the header nor any record of the journal nor any sound can be read.
    #[error(
        "{path}: neither trip.json nor any record of the journal nor any sound can be read; \
         pull the trip from the board or its card again"
    )]
    NothingReadable {
        /// The folder.
        path: PathBuf,
    },
    /// Written by newer software.
    #[error(
        "{path}: trip folder format {found} is newer than this program, \
         which reads up to format {known}; update the program"
    )]
    NewerFormat {
        /// The header.
        path: PathBuf,
        /// What it says.
        found: u64,
        /// What we read.
        known: u64,
    },
    /// Audio of a kind that format 1 does not have.
    #[error(
        "{path}: audio of {sample_rate} Hz, {bits} bits and {channels} channels is announced; \
         a trip folder holds 16-bit mono at 8000 to 48000 Hz"
    )]
    AudioFormat {
        /// The header.
        path: PathBuf,
        /// Samples per second.
        sample_rate: u32,
        /// Bits per sample.
        bits: u16,
        /// Channels.
        channels: u16,
    },
    /// The operating system refused.
    #[error("{path}: cannot {doing}: {source}; check that the disk is mounted and readable")]
    Io {
        /// File or folder.
        path: PathBuf,
        /// What was tried, as in "cannot …".
        doing: &'static str,
        /// Why it failed.
        source: io::Error,
    },
    /// The trip has no segment of that number.
    #[error("{trip}: there is no audio segment {number} in this trip")]
    NoSegment {
        /// The trip's folder.
        trip: PathBuf,
        /// As asked for.
        number: u32,
    },
    /// The segment is known, its audio is lost.
    #[error("{path}: the audio of this segment is missing or unreadable; `check` says more")]
    SegmentMissing {
        /// Where it should be.
        path: PathBuf,
    },
    /// A sound file that cannot be decoded.
    #[error("{path}: not readable as sound: {reason}; `check` says what else is damaged")]
    Sound {
        /// The file.
        path: PathBuf,
        /// In the decoder's words.
        reason: String,
    },
    /// A person's own FLAC file that cannot be decoded, or not to its end.
    #[error("{path} cannot be read as a FLAC file: {reason}")]
    Flac {
        /// The file.
        path: PathBuf,
        /// In plain words, or the decoder's.
        reason: String,
    },
    /// More samples at once than any over has.
    #[error("{count} samples at once is more than the limit of {limit}; ask for less at a time")]
    SpanTooLong {
        /// As asked for.
        count: u64,
        /// The most that is given.
        limit: u64,
    },
}
