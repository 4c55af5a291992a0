//! Copies trips from a card, a folder or a board into the library at home.
//!
//! Every file is verified. A file has its name in the library only when it is complete
//! and on the disk, and pulling the same source again changes nothing.
//!
//! A new trip is copied into a hidden folder beside its place and gets its name when
//! everything that can be read of it is there. Its power-up and its records identify a
//! trip, not its name: a second card starts with the same names again. A file of the
//! library is never replaced by one that does not contain it. The next pull continues an
//! interrupted one, in the middle of a file if need be. When a trip is complete and
//! verified, its receipt is written to the card.
//!
//! This crate prints nothing and does not read the environment. Whoever pulls follows
//! it through a [`PullListener`].
#![forbid(unsafe_code)]

mod checksums;
mod error;
mod event;
mod find;
mod identity;
mod lease;
mod library;
mod progress;
mod pull;
mod receipt;
mod report;
mod source;
mod source_trip;
mod transfer;

pub use checksums::{
    CHECKSUM_FILE, ChecksumList, FileChecksum, RecordedSamples, file_checksum, forget_checksums,
};
pub use error::PullError;
pub use event::{PullEvent, PullListener};
pub use identity::{TripIdentity, read_identity};
pub use pull::{PullRequest, pull, pull_from};
pub use report::{MissingFile, PullReport};
pub use source::{
    FetchCallback, FetchEvent, FileRange, SftpSource, SourceEntry, SourceEntryKind, TripSource,
    boards_nearby,
};
