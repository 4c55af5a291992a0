//! Locator, bands and modes.
pub mod geodesic;
pub mod position;
