//! The review page: a local server on which a person listens to drafts and confirms them.
//!
//! [`ReviewServer::bind`] takes a [`ReviewBackend`], which the command implements: the
//! library, the logbook, the own station, and the code that exports. Every decision is in
//! the logbook before its reply is sent; the server itself stores nothing.
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
