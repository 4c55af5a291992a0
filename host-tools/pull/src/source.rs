//! Where trips are pulled from: a folder of this computer, or a board over the network.

mod folder;
mod nearby;
mod sftp;
mod trip_source;

pub(crate) use folder::FolderSource;
pub use nearby::boards_nearby;
pub use sftp::SftpSource;
pub(crate) use sftp::connect_to_board;
pub use trip_source::{
    FetchCallback, FetchEvent, FileRange, SourceEntry, SourceEntryKind, TripSource,
};
