//! HTTP on the loopback interface.

mod connections;
mod guard;
mod reply;
mod request;
mod server;

pub(crate) use guard::Guard;
pub(crate) use reply::Reply;
pub(crate) use request::{Method, Request};
pub use server::Server;
