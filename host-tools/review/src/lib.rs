//! The review page: a local server where drafts are heard and confirmed.
//!
//! [`Server::bind`] takes a [`Desk`], which is what the command brings: the
//! library, the logbook, the own station, and the code that exports. Everything
//! that is shown came from there, and everything that is decided goes into the
//! logbook at once: the server keeps nothing that a person said.
#![forbid(unsafe_code)]

mod desk;
mod error;
mod http;
mod page;
mod route;
mod shape;
mod shelf;
mod sound;
mod view;

pub use desk::{Desk, Exported, FORMATS, Trouble};
pub use error::ReviewError;
pub use http::Server;
