//! Files and folders that survive a crash: complete or absent, synced, and private where they
//! must be.
#![forbid(unsafe_code)]

mod durable;
mod error;
mod new_folder;
mod no_follow;
mod paths;
mod sync;
mod unfinished;

pub use durable::{folder_of, resolve_link, write as write_durably, write_private};
pub use error::FileError;
pub use new_folder::{make_folder, make_private_folder};
pub use no_follow::{make_folder_no_follow, open_given_file, open_regular_file, open_to_append};
pub use paths::{file_name, full_path};
pub use sync::{sync_files, sync_folder};
pub use unfinished::{
    DATABASE_COMPANIONS, UnfinishedFile, UnfinishedFolder, abandon_unfinished, clear_unfinished,
    with_suffix,
};
