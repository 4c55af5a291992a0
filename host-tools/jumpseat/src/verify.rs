//! Checks that the library still holds what was copied into it. Changes nothing there.
//!
//! A pull stores the checksum of every file that it copies. The board's journal has the
//! checksum of the samples of each sound file, which also verifies a packed file.

mod schedule;
mod sound;
mod trip;

pub(crate) use schedule::{VerificationSchedule, verify_due_trips};
pub(crate) use trip::{ChangedFile, TripVerification, repair_advice, verify, verify_trip};
