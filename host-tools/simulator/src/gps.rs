//! The car's way, and what a satellite receiver says of it.

pub mod locator;
mod receiver;
mod road;
pub mod sentence;

pub use receiver::sentences;
pub(crate) use road::distance_m;
