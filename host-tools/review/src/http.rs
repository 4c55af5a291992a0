//! HTTP on the loopback interface.

mod connections;
mod end_request;
mod guard;
mod reply;
mod request;
mod server;

pub(crate) use guard::AccessGuard;
pub(crate) use reply::ReviewReply;
pub(crate) use request::{ReviewMethod, ReviewRequest};
pub use server::ReviewServer;
