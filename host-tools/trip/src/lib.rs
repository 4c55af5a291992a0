//! Reads, checks and salvages a trip folder; resolves UTC and place.
//!
//! [`Trip::open`] reads a folder and never writes to it. Damage costs the record
//! or the file that it hit and nothing else: it is listed in [`Trip::damage`].
//! From a trip, [`Timeline`] resolves times, [`Track`] places, and [`Dial`] the
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
mod kept;
mod library_name;
mod limited;
mod neighbour;
mod over;
mod regular_file;
mod segment;
mod sound;
mod time;
mod track;
mod wav;
mod witness;

pub use audio::{Lost, Span};
pub use damage::{Damage, Severity};
pub use dial::{Dial, DialChange, DialEstimate, DialSetting};
pub use error::TripError;
pub use flac_file::FlacFile;
pub use folder::Trip;
pub use header::{AudioFormat, FORMAT, Header, HeaderFault, Station};
pub use health::{
    DialReport, FaultReport, LevelMeter, LevelReport, PlaceReport, Report, TimeReport, Verdict,
    health,
};
pub use journal::{Journal, parse_journal, read_journal};
pub use jumpseat_core::journal::{Direction, Event, Record};
pub use kept::{KEPT, Kept, KeptFault, KeptFile};
pub use library_name::name_on_board;
pub use over::Over;
pub use regular_file::{open_given_file, open_regular_file};
pub use segment::{Segment, SegmentState};
pub use sound::{SoundBlocks, is_flac, read as read_sound};
pub use time::{TimeEstimate, TimeQuality, TimeSettings, Timeline};
pub use track::{PlaceEstimate, Position, Track};
