//! Checksums of a trip's files: of each file as it was copied, and of the samples of each
//! sound file as the board recorded them.

mod file;
mod list;
mod samples;

pub(crate) use file::add_to_digest;
pub use file::{FileChecksum, file_checksum};
pub use list::{CHECKSUM_FILE, ChecksumList, forget_checksums};
pub use samples::RecordedSamples;
