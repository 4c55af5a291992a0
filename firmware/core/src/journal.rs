//! The journal: what is written down beside the audio, one record a line.
//!
//! A record is a JSON object; its line adds a space, the CRC-32C of the object's
//! bytes as eight lower-case hexadecimal digits, and a newline. A torn last line
//! or a flipped bit costs that one record; readers skip it and say so.

mod frame;
mod record;

pub use frame::{FrameError, MAX_LINE, encode, verify};
pub use record::{
    BootId, Detail, Direction, Event, Fault, PositionSource, Record, ShutdownReason, Sum, Text,
    TimeSource, clip,
};
