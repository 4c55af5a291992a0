//! Reads, checks and salvages a trip folder; resolves UTC and place.
//!
//! [`Trip::open`] reads a folder and never writes to it. Damage costs the record
//! or the file that it hit and nothing else: it is listed in [`Trip::damage`].
//! From a trip, [`Timeline`] resolves times, [`Track`] places, and [`DialHistory`] the
//! rig's setting; each answer comes with the doubts that a person should know.
#![forbid(unsafe_code)]

mod audio;
mod damage;
mod dial;
mod error;
mod flac;
mod flac_file;
mod folder;
mod header;
mod health;
mod journal;
mod library_name;
mod limited_reader;
mod over;
mod retention;
mod same_power_up;
mod segment;
mod sound_file;
mod time;
mod track;
mod wav;
mod witness;

pub use audio::{LostSamples, SampleSpan};
pub use damage::{DamageSeverity, TripDamage};
pub use dial::{DialHistory, DialReading};
pub use error::TripError;
pub use flac_file::FlacFile;
pub use folder::Trip;
pub use header::{HeaderFault, TRIP_FORMAT, TripAudioFormat, TripJsonHeader, TripStation};
pub use health::{
    DialHealth, FaultHealth, HealthReport, HealthVerdict, PlaceHealth, SoundLevel, SoundLevelMeter,
    TimeHealth, health,
};
pub use journal::{ParsedJournal, parse_journal, read_journal};
pub use jumpseat_core::journal::{AudioDirection, JournalEvent, JournalRecord};
pub use library_name::name_on_board;
pub use over::Over;
pub use retention::{RETENTION_FILE, RetainedFile, RetentionFault, RetentionManifest};
pub use segment::{AudioSegment, SegmentState};
pub use sound_file::{SoundBlocks, is_flac, read as read_sound};
pub use time::{TimeQuality, TimeSettings, Timeline};
pub use track::Track;
