//! Locator, bands and modes.
//!
//! Pure functions of their arguments: no file, clock or setting is read here.
#![forbid(unsafe_code)]

pub mod band;
pub mod locator;
pub mod mode;
