//! A drive script: what is fed to a recorder, as files.

pub(crate) mod error;
mod event;
pub(crate) mod files;
mod read;
mod write;

pub use error::ScriptError;
pub use event::{DriveScriptEvent, ScriptInput};
pub use files::{DRIVE_TRUTH_FILE, EVENTS_FILE, SOUND_FILE};
pub use read::{read_events, read_sound};
pub use write::{events, write, write_events};
