//! Locator, bands and modes; distance and bearing.
//!
//! Pure functions of their arguments: no file, clock or setting is read here.
#![forbid(unsafe_code)]

pub mod area;
pub mod band;
pub mod callsign;
pub mod geodesic;
pub mod locator;
pub mod mode;
pub mod position;
