//! Files and folders that survive a crash: complete or absent, synced, and private where they
//! must be.
#![forbid(unsafe_code)]

mod durable;
mod error;
mod new_folder;
mod unfinished;

pub use durable::{folder_of, resolve_link, sync_folder, write as write_durably, write_private};
pub use error::FileError;
pub use new_folder::{make_folder, make_private_folder};
pub use unfinished::{
    DATABASE_COMPANIONS, UnfinishedFile, UnfinishedFolder, abandon_unfinished, clear_unfinished,
    with_suffix,
};
