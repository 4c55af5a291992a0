//! What a satellite receiver in the car says, second by second.

pub mod locator;
mod receiver;
pub mod sentence;

pub use receiver::sentences;
