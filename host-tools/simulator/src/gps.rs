//! The car's way, and what a satellite receiver says of it.

pub mod locator;
mod receiver;
pub mod sentence;

pub use receiver::sentences;
