//! The journal beside the audio: one record per line.
//!
//! A record is a JSON object; its line adds a space, the CRC-32C of the object's bytes as
//! eight lower-case hexadecimal digits, and a newline. A torn last line or a flipped bit
//! costs that one record; readers skip it and report it.

mod line;
mod record;

pub use line::{JournalLineError, MAX_JOURNAL_LINE, encode, verify};
pub use record::{
    AudioDirection, BootId, FaultDetail, JournalEvent, JournalRecord, PositionSource,
    RecorderFault, Sha256Hex, ShortText, ShutdownReason, TimeSource, clip,
};
