//! The review page: a local server where drafts are heard and confirmed.
//!
//! [`ReviewServer::bind`] takes a [`ReviewBackend`], which is what the command brings: the
//! library, the logbook, the own station, and the code that exports. Everything
//! that is shown came from there, and everything that is decided goes into the
//! logbook at once: the server keeps nothing that a person said.
#![forbid(unsafe_code)]

mod backend;
mod error;
mod http;
mod open_trips;
mod page;
mod route;
mod site;
mod sound;
mod view;

pub use backend::{BackendError, EXPORT_FORMATS, PageExport, ReviewBackend};
pub use error::ReviewError;
pub use http::ReviewServer;
