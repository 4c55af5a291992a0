//! Locator, bands and modes.
