//! Locator, bands and modes; distance and bearing; the area of a position; call signs.
//!
//! Pure functions of their arguments: no file, clock or setting is read. The tables are
//! part of the program.
#![forbid(unsafe_code)]

pub mod area;
pub mod band;
pub mod callsign;
pub mod geodesic;
pub mod locator;
pub mod mode;
