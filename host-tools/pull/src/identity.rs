//! Which trip a folder holds, and whether two folders hold the same one.

mod evidence;
mod header;
mod in_library;
mod names;

pub(crate) use evidence::{TripEvidence, TripLikeness};
pub(crate) use header::MAX_HEADER_BYTES;
pub use header::{TripIdentity, read_identity};
pub(crate) use in_library::{file_beginning, read_evidence};
pub(crate) use names::{is_plain_name, is_trip_name};
