//! The files of a script.

/// The sound: two channels of 16 bits at 16 kHz, receive and transmit.
pub const SOUND_FILE: &str = "drive.wav";
/// Everything else, one event a line.
pub const EVENTS_FILE: &str = "events.jsonl";
/// What a perfect log would hold.
pub const DRIVE_TRUTH_FILE: &str = "truth.json";
