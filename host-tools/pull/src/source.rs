//! Where trips are pulled from: a folder of this computer, or a board over the network.

mod folder;
mod interface;
mod nearby;
mod sftp;

pub(crate) use folder::FolderSource;
pub use interface::{
    FetchCallback, FetchEvent, FileRange, SourceEntry, SourceEntryKind, TripSource,
};
pub use nearby::boards_nearby;
pub use sftp::SftpSource;
pub(crate) use sftp::connect_to_board;
